//! Blocks laid out on A4 pages.

use krilla::Document;

use super::blocks::{Block, Sheet};
use super::section::{Ink, Section};
use crate::documents::pdf::{
    AMBER, AMBER_LINE, Canvas, Colour, Cut, FAINT, Fonts, INK, LINE, MM_PER_POINT, PALE, page_of,
};

const WIDTH_MM: f64 = 210.0;
const HEIGHT_MM: f64 = 297.0;
const LEFT_MM: f64 = 17.0;
const RIGHT_MM: f64 = WIDTH_MM - 17.0;
const TOP_MM: f64 = 16.0;
const BOTTOM_MM: f64 = HEIGHT_MM - 17.0;

/// Tables whose rows are no higher than this together aren't parted, mm.
const KEPT_TOGETHER_MM: f64 = 60.0;

/// One thing drawn on a page.
enum Stroke<'a> {
    Text(f64, f64, f64, Cut, Colour, String),
    Line((f64, f64), (f64, f64), f64, Colour),
    Dashed((f64, f64), (f64, f64), f64, Colour),
    Shape(Vec<(f64, f64)>),
    Rect([f64; 4], Option<Colour>, Option<(Colour, f64)>),
    Circle(f64, f64, f64, Colour),
    Image(&'a [u8], [f64; 4]),
}

struct Flow<'a> {
    fonts: &'a Fonts,
    size: f64,
    colour: Colour,
    pages: Vec<Vec<Stroke<'a>>>,
    y: f64,
}

/// The sheet as a PDF file, in the first of its sizes of text that keeps to the pages it should take; in the
/// last where none does.
pub(super) fn pdf(sheet: &Sheet) -> Option<Vec<u8>> {
    let fonts = Fonts::new()?;
    let mut pages = Vec::new();
    for size in &sheet.sizes {
        pages = laid_out(sheet, &fonts, *size);
        if pages.len() <= sheet.most_pages {
            break;
        }
    }
    let count = pages.len();
    let mut document = Document::new();
    for (index, strokes) in pages.into_iter().enumerate() {
        let mut page = document.start_page_with(page_of(WIDTH_MM, HEIGHT_MM)?);
        let mut surface = page.surface();
        let mut canvas = Canvas { surface: &mut surface, fonts: &fonts };
        for stroke in &strokes {
            draw(&mut canvas, stroke);
        }
        let foot = HEIGHT_MM - 9.0;
        canvas.line((LEFT_MM, foot - 4.0), (RIGHT_MM, foot - 4.0), 0.2, LINE, &[]);
        canvas.text(LEFT_MM, foot, 7.5, Cut::Regular, FAINT, &sheet.foot());
        let number = format!("{} of {count}", index + 1);
        canvas.text_to(RIGHT_MM, foot, 7.5, Cut::Regular, FAINT, &number);
        surface.finish();
        page.finish();
    }
    document.finish().ok()
}

/// What stands on each page, with running text of this size in points.
fn laid_out<'a>(sheet: &'a Sheet, fonts: &'a Fonts, size: f64) -> Vec<Vec<Stroke<'a>>> {
    let colour = sheet.colour();
    let mut flow = Flow { fonts, size, colour, pages: vec![Vec::new()], y: TOP_MM };
    flow.head(sheet);
    for (index, block) in sheet.blocks.iter().enumerate() {
        flow.block(block, sheet.blocks.get(index + 1));
    }
    flow.pages
}

fn draw(canvas: &mut Canvas, stroke: &Stroke) {
    match stroke {
        Stroke::Text(x, y, size, cut, colour, text) => {
            canvas.text(*x, *y, *size, *cut, *colour, text)
        }
        Stroke::Line(from, to, width, colour) => canvas.line(*from, *to, *width, *colour, &[]),
        Stroke::Dashed(from, to, width, colour) => {
            canvas.line(*from, *to, *width, *colour, &[1.2, 0.8]);
        }
        Stroke::Shape(corners) => {
            canvas.polygon(corners, PALE);
            for (index, from) in corners.iter().enumerate() {
                canvas.line(*from, corners[(index + 1) % corners.len()], 0.35, INK, &[]);
            }
        }
        Stroke::Rect([x, y, w, h], filled, edge) => canvas.rect(*x, *y, *w, *h, *filled, *edge),
        Stroke::Circle(x, y, radius, colour) => canvas.circle(*x, *y, *radius, Some(*colour), None),
        Stroke::Image(png, [x, y, w, h]) => canvas.image(png, *x, *y, *w, *h),
    }
}

impl<'a> Flow<'a> {
    fn put(&mut self, stroke: Stroke<'a>) {
        if let Some(page) = self.pages.last_mut() {
            page.push(stroke);
        }
    }

    fn text(
        &mut self,
        x: f64,
        y: f64,
        size: f64,
        cut: Cut,
        colour: Colour,
        text: impl Into<String>,
    ) {
        self.put(Stroke::Text(x, y, size, cut, colour, text.into()));
    }

    /// Begins a page unless `height` still goes on this one.
    fn need(&mut self, height: f64) {
        if self.y + height > BOTTOM_MM && self.y > TOP_MM + 1.0 {
            self.pages.push(Vec::new());
            self.y = TOP_MM;
        }
    }

    fn line_mm(&self) -> f64 {
        self.size * 1.32 * MM_PER_POINT
    }

    fn head(&mut self, sheet: &'a Sheet) {
        let mut right_floor = self.y;
        let mut title_width = RIGHT_MM - LEFT_MM;
        if let Some(workshop) = &sheet.workshop {
            let mut x = RIGHT_MM;
            if let Some(logo) = &sheet.logo {
                let aspect = f64::from(logo.width) / f64::from(logo.height.max(1));
                let h = (18.0_f64).min(46.0 / aspect);
                let w = h * aspect;
                self.put(Stroke::Image(&logo.png, [RIGHT_MM - w, self.y, w, h]));
                x = RIGHT_MM - w - 4.0;
                right_floor = self.y + h;
            }
            let mut y = self.y + 4.2;
            let width = self.fonts.width_mm(&workshop.name, 11.0, Cut::Bold);
            self.text(x - width, y, 11.0, Cut::Bold, self.colour, workshop.name.clone());
            for line in &workshop.lines {
                y += 4.0;
                let width = self.fonts.width_mm(line, 8.0, Cut::Regular);
                self.text(x - width, y, 8.0, Cut::Regular, FAINT, line.clone());
            }
            right_floor = right_floor.max(y + 1.0);
            // The title keeps to what the workshop's own words leave.
            let name = self.fonts.width_mm(&workshop.name, 11.0, Cut::Bold);
            let lines = workshop.lines.iter();
            let widths = lines.map(|line| self.fonts.width_mm(line, 8.0, Cut::Regular));
            title_width = (x - widths.fold(name, f64::max) - LEFT_MM - 6.0).max(60.0);
        }
        let mut y = self.y + 6.0;
        // Smaller rather than on two lines, down to three quarters.
        let wide = self.fonts.width_mm(&sheet.title, 18.0, Cut::Bold).max(1.0);
        let size = 18.0 * (0.995 * title_width / wide).clamp(0.75, 1.0);
        for line in self.fonts.folded(&sheet.title, size, Cut::Bold, title_width) {
            self.text(LEFT_MM, y, size, Cut::Bold, INK, line);
            y += 7.6;
        }
        y -= 1.6;
        for line in self.fonts.folded(&sheet.subtitle, 10.5, Cut::Regular, title_width) {
            self.text(LEFT_MM, y, 10.5, Cut::Regular, FAINT, line);
            y += 4.8;
        }
        self.y = (y - 2.0).max(right_floor + 1.0);
        self.put(Stroke::Line((LEFT_MM, self.y), (RIGHT_MM, self.y), 0.7, self.colour));
        self.y += 5.0;
        // Facts in two columns, each as wide as half the page.
        let half = (RIGHT_MM - LEFT_MM) / 2.0;
        let mut floor = self.y;
        for column in 0..2 {
            let mut y = self.y;
            let count = sheet.facts.len().div_ceil(2);
            for (name, value) in sheet.facts.iter().skip(column * count).take(count) {
                let x = LEFT_MM + half * column as f64;
                self.text(x, y, self.size, Cut::Bold, self.colour, name.clone());
                for line in self.fonts.folded(value, self.size, Cut::Regular, half - 21.0) {
                    self.text(x + 18.0, y, self.size, Cut::Regular, INK, line);
                    y += self.line_mm();
                }
            }
            floor = floor.max(y);
        }
        self.y = floor - 1.0;
    }

    fn block(&mut self, block: &'a Block, next: Option<&'a Block>) {
        match block {
            Block::Heading(text) => {
                // A heading doesn't stand alone at a page's foot.
                let with = match next {
                    Some(Block::Pictures(_)) => 70.0,
                    Some(Block::Sections(_)) => 60.0,
                    Some(Block::Cautions { .. } | Block::Sign(_)) => 40.0,
                    Some(Block::Table { rows, .. }) if rows.len() <= 6 => {
                        KEPT_TOGETHER_MM.min(rows.len() as f64 * 1.6 * self.line_mm() + 12.0)
                    }
                    _ => 3.0 * self.line_mm() + 6.0,
                };
                self.need(9.0 + with);
                self.y += 6.4;
                self.text(LEFT_MM, self.y, self.size + 3.0, Cut::Bold, self.colour, text.clone());
                self.y += 1.6;
            }
            Block::Text(text) => {
                self.y += 0.8;
                self.lines(text, LEFT_MM, RIGHT_MM);
            }
            Block::Bullets(items) => {
                self.y += 0.8;
                for item in items {
                    self.need(self.line_mm());
                    let y = self.y + self.line_mm() * 0.62;
                    self.put(Stroke::Circle(LEFT_MM + 1.6, y, 0.55, self.colour));
                    self.lines(item, LEFT_MM + 5.0, RIGHT_MM);
                }
            }
            Block::Steps(items, tick) => {
                self.y += 0.8;
                for (index, item) in items.iter().enumerate() {
                    self.need(self.line_mm() + 1.0);
                    let foot = self.y + self.line_mm() * 0.8;
                    let mut x = LEFT_MM;
                    if *tick {
                        self.put(Stroke::Rect(
                            [x, foot - 3.0, 3.2, 3.2],
                            None,
                            Some((FAINT, 0.25)),
                        ));
                        x += 5.6;
                    }
                    self.text(x, foot, self.size, Cut::Bold, self.colour, format!("{}", index + 1));
                    self.lines(item, x + 6.0, RIGHT_MM);
                    self.y += 0.5;
                }
            }
            Block::Table { shares, head, rows } => self.table(shares, head, rows),
            Block::Pictures(shots) => self.pictures(shots),
            Block::Sections(sections) => self.sections(sections),
            Block::Cautions { title, items, closing } => self.cautions(title, items, closing),
            Block::Sign(rows) => self.sign(rows),
        }
    }

    fn lines(&mut self, text: &str, left: f64, right: f64) {
        for line in self.fonts.folded(text, self.size, Cut::Regular, right - left) {
            self.need(self.line_mm());
            self.y += self.line_mm();
            self.text(left, self.y - self.line_mm() * 0.2, self.size, Cut::Regular, INK, line);
        }
    }

    fn table(&mut self, shares: &[f64], head: &[String], rows: &[Vec<String>]) {
        self.y += 2.0;
        let whole = RIGHT_MM - LEFT_MM;
        let sum: f64 = shares.iter().sum();
        let widths: Vec<f64> = shares.iter().map(|share| whole * share / sum).collect();
        let size = self.size - 0.7;
        let line = size * 1.28 * MM_PER_POINT;
        let folded = |cells: &[String], cut| -> Vec<Vec<String>> {
            let cell =
                |(text, width): (&String, &f64)| self.fonts.folded(text, size, cut, width - 3.0);
            cells.iter().zip(&widths).map(cell).collect()
        };
        let head = folded(head, Cut::Bold);
        let rows: Vec<Vec<Vec<String>>> =
            rows.iter().map(|row| folded(row, Cut::Regular)).collect();
        let height = |cells: &[Vec<String>]| {
            cells.iter().map(Vec::len).max().unwrap_or(1) as f64 * line + 2.0
        };
        let all: f64 = rows.iter().map(|row| height(row)).sum();
        let first = rows.first().map_or(0.0, |row| height(row));
        // A short table stays in one piece.
        self.need(height(&head) + if all <= KEPT_TOGETHER_MM { all } else { first });
        let row = |flow: &mut Flow<'a>, cells: &[Vec<String>], cut: Cut| {
            let h = height(cells);
            if cut == Cut::Bold {
                flow.put(Stroke::Rect([LEFT_MM, flow.y, whole, h], Some(PALE), None));
            }
            let mut x = LEFT_MM;
            for (lines, width) in cells.iter().zip(&widths) {
                for (index, text) in lines.iter().enumerate() {
                    let foot = flow.y + 1.0 + line * (index as f64 + 0.78);
                    let colour = if cut == Cut::Bold { flow.colour } else { INK };
                    flow.text(x + 1.5, foot, size, cut, colour, text.clone());
                }
                x += width;
            }
            flow.y += h;
            flow.put(Stroke::Line((LEFT_MM, flow.y), (RIGHT_MM, flow.y), 0.15, LINE));
        };
        row(self, &head, Cut::Bold);
        for cells in &rows {
            if self.y + height(cells) > BOTTOM_MM {
                self.need(height(cells));
                row(self, &head, Cut::Bold);
            }
            row(self, cells, Cut::Regular);
        }
        self.y += 1.0;
    }

    fn pictures(&mut self, shots: &'a [super::blocks::Shot]) {
        let gap = 4.0;
        let count = shots.len().max(1) as f64;
        let width = (RIGHT_MM - LEFT_MM - gap * (count - 1.0)) / count;
        let height = shots.iter().map(|shot| width / shot.aspect).fold(0.0, f64::max);
        let size = self.size - 0.8;
        let captions: Vec<Vec<String>> = shots
            .iter()
            .map(|shot| self.fonts.folded(&shot.caption, size, Cut::Regular, width))
            .collect();
        let words =
            captions.iter().map(Vec::len).max().unwrap_or(0) as f64 * size * 1.3 * MM_PER_POINT;
        self.need(height + words + 4.0);
        self.y += 2.0;
        for (index, (shot, caption)) in shots.iter().zip(captions).enumerate() {
            let x = LEFT_MM + (width + gap) * index as f64;
            let h = width / shot.aspect;
            self.put(Stroke::Image(&shot.png, [x, self.y, width, h]));
            self.put(Stroke::Rect([x, self.y, width, h], None, Some((LINE, 0.2))));
            for (line, text) in caption.into_iter().enumerate() {
                let foot = self.y + h + size * MM_PER_POINT * (1.2 + 1.3 * line as f64);
                self.text(x, foot, size, Cut::Regular, FAINT, text);
            }
        }
        self.y += height + words + 1.5;
    }

    fn sections(&mut self, sections: &[Section]) {
        let count = sections.len().max(1) as f64;
        let pitch = (RIGHT_MM - LEFT_MM) / count;
        let height = sections.iter().map(|section| section.height_mm).fold(0.0, f64::max);
        self.need(height + 3.0);
        self.y += 2.0;
        for (index, section) in sections.iter().enumerate() {
            let (left, top) = (LEFT_MM + pitch * index as f64, self.y);
            let at = |(x, y): (f64, f64)| (left + x, top + y);
            for ink in &section.inks {
                match ink {
                    Ink::Shape(corners) => {
                        self.put(Stroke::Shape(corners.iter().map(|corner| at(*corner)).collect()));
                    }
                    Ink::Line { from, to, width_mm, colour, dashed: false } => {
                        self.put(Stroke::Line(at(*from), at(*to), *width_mm, *colour));
                    }
                    Ink::Line { from, to, width_mm, colour, dashed: true } => {
                        self.put(Stroke::Dashed(at(*from), at(*to), *width_mm, *colour));
                    }
                    Ink::Dot(place) => {
                        let (x, y) = at(*place);
                        self.put(Stroke::Circle(x, y, 0.6, INK));
                    }
                    Ink::Words { at: place, text, ends, bold } => {
                        let cut = if *bold { Cut::Bold } else { Cut::Regular };
                        let size = self.size - 1.0;
                        let (mut x, y) = at(*place);
                        if *ends {
                            x -= self.fonts.width_mm(text, size, cut);
                        }
                        self.text(x, y, size, cut, INK, text.clone());
                    }
                }
            }
        }
        self.y += height;
    }

    fn cautions(&mut self, title: &str, items: &[String], closing: &str) {
        let size = self.size - 0.5;
        let line = size * 1.3 * MM_PER_POINT;
        let width = RIGHT_MM - LEFT_MM - 14.0;
        let folded: Vec<Vec<String>> =
            items.iter().map(|item| self.fonts.folded(item, size, Cut::Regular, width)).collect();
        let last = self.fonts.folded(closing, size, Cut::Bold, width + 4.0);
        let lines = folded.iter().map(Vec::len).sum::<usize>() + last.len();
        let height = 9.0 + line * lines as f64 + 4.0;
        self.need(height + 4.0);
        self.y += 4.0;
        let edge = Some((AMBER_LINE, 0.35));
        self.put(Stroke::Rect([LEFT_MM, self.y, RIGHT_MM - LEFT_MM, height], Some(AMBER), edge));
        let mut y = self.y + 6.0;
        self.text(LEFT_MM + 5.0, y, self.size + 1.5, Cut::Bold, INK, title);
        y += 1.5;
        for lines in folded {
            self.put(Stroke::Circle(LEFT_MM + 6.0, y + line * 0.58, 0.55, AMBER_LINE));
            for text in lines {
                y += line;
                self.text(LEFT_MM + 9.0, y - line * 0.15, size, Cut::Regular, INK, text);
            }
        }
        y += 1.0;
        for text in last {
            y += line;
            self.text(LEFT_MM + 5.0, y - line * 0.1, size, Cut::Bold, INK, text);
        }
        self.y += height + 2.0;
    }

    fn sign(&mut self, rows: &[(String, String)]) {
        self.y += 2.0;
        let whole = RIGHT_MM - LEFT_MM;
        let [check, found, date] = [whole * 0.50, whole * 0.26, whole * 0.24];
        let line = self.line_mm();
        let mut head = true;
        for (what, record) in rows {
            let words = self.fonts.folded(what, self.size, Cut::Regular, check - 10.0);
            let h = (line * words.len() as f64 + 4.0).max(11.0);
            self.need(h + if head { 6.0 } else { 0.0 });
            if head {
                for (x, text) in [
                    (7.0, "Check"),
                    (check + 1.5, "Found"),
                    (check + found + 1.5, "Date, initials"),
                ] {
                    self.text(
                        LEFT_MM + x,
                        self.y + 3.6,
                        self.size - 0.7,
                        Cut::Bold,
                        self.colour,
                        text,
                    );
                }
                self.y += 5.0;
                head = false;
            }
            self.put(Stroke::Rect([LEFT_MM, self.y, whole, h], None, Some((LINE, 0.2))));
            self.put(Stroke::Rect(
                [LEFT_MM + 2.0, self.y + h / 2.0 - 1.7, 3.4, 3.4],
                None,
                Some((FAINT, 0.25)),
            ));
            for at in [check, whole - date] {
                let x = LEFT_MM + at;
                self.put(Stroke::Line((x, self.y), (x, self.y + h), 0.2, LINE));
            }
            let top = self.y + (h - line * words.len() as f64) / 2.0;
            for (index, text) in words.into_iter().enumerate() {
                let foot = top + line * (index as f64 + 0.8);
                self.text(LEFT_MM + 7.5, foot, self.size, Cut::Regular, INK, text);
            }
            let size = self.size - 1.5;
            self.text(
                LEFT_MM + check + 1.5,
                self.y + h - 1.6,
                size,
                Cut::Regular,
                FAINT,
                record.clone(),
            );
            self.y += h;
        }
    }
}

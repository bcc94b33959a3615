//! Blocks laid out on A4 pages.

mod boxes;
mod tables;

use krilla::Document;

use super::blocks::{Block, Sheet};
use crate::documents::pdf::{
    Canvas, Colour, Cut, FAINT, Fonts, INK, LINE, MM_PER_POINT, PALE, page_of,
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
                    Some(Block::Cautions { .. }) => 40.0,
                    Some(Block::Sign(rows)) => self.sign_height(rows),
                    Some(Block::Table { shares, head, rows }) => {
                        self.table_start_mm(shares, head, rows)
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
}

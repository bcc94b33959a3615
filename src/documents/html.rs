//! A sheet as one HTML file that asks nothing of any other place.

use base64::Engine;

use super::sheet::{Block, Sheet, svg};

/// The page. Pictures stand in it; there is no script, no font and no link.
pub(super) fn page(sheet: &Sheet) -> String {
    let (r, g, b) = sheet.colour();
    let mut body = String::new();
    body.push_str("<header><div>");
    body.push_str(&format!(
        "<h1>{}</h1><p class=sub>{}</p></div>",
        escaped(&sheet.title),
        escaped(&sheet.subtitle)
    ));
    if let Some(workshop) = &sheet.workshop {
        body.push_str("<div class=shop><div>");
        body.push_str(&format!("<strong>{}</strong>", escaped(&workshop.name)));
        for line in &workshop.lines {
            body.push_str(&format!("<br>{}", escaped(line)));
        }
        body.push_str("</div>");
        if let Some(logo) = &sheet.logo {
            body.push_str(&image(&logo.png, &workshop.name));
        }
        body.push_str("</div>");
    }
    body.push_str("</header><dl>");
    for (name, value) in &sheet.facts {
        body.push_str(&format!("<div><dt>{}</dt><dd>{}</dd></div>", escaped(name), escaped(value)));
    }
    body.push_str("</dl>");
    for block in &sheet.blocks {
        body.push_str(&html(block));
    }
    body.push_str(&format!("<footer>{}</footer>", escaped(&sheet.foot())));
    let style = STYLE.replace("ACCENT", &format!("#{r:02X}{g:02X}{b:02X}"));
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\">\n<link rel=\"icon\" \
         href=\"data:,\">\n<title>{}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n\
         </body>\n</html>\n",
        escaped(&sheet.title)
    )
}

fn html(block: &Block) -> String {
    let list = |tag: &str, items: &[String]| {
        let items: String =
            items.iter().map(|item| format!("<li>{}</li>", escaped(item))).collect();
        format!("<{tag}>{items}</{tag}>\n")
    };
    match block {
        Block::Heading(text) => format!("<h2>{}</h2>\n", escaped(text)),
        Block::Text(text) => format!("<p>{}</p>\n", escaped(text)),
        Block::Bullets(items) => list("ul", items),
        Block::Steps(items, _) => list("ol", items),
        Block::Table { head, rows, .. } => {
            let row = |tag: &str, cells: &[String]| {
                let cells: String =
                    cells.iter().map(|cell| format!("<{tag}>{}</{tag}>", escaped(cell))).collect();
                format!("<tr>{cells}</tr>")
            };
            let rows: String = rows.iter().map(|cells| row("td", cells)).collect();
            format!("<table><thead>{}</thead><tbody>{rows}</tbody></table>\n", row("th", head))
        }
        Block::Pictures(shots) => {
            let figures: String = shots
                .iter()
                .map(|shot| {
                    let caption = escaped(&shot.caption);
                    let picture = image(&shot.png, &shot.caption);
                    format!("<figure>{picture}<figcaption>{caption}</figcaption></figure>")
                })
                .collect();
            format!("<section class=pictures>{figures}</section>\n")
        }
        Block::Sections(sections) => {
            let figures: String = sections
                .iter()
                .map(|section| format!("<figure>{}</figure>", svg(section)))
                .collect();
            format!("<section class=pictures>{figures}</section>\n")
        }
        Block::Cautions { title, items, closing } => {
            let items = list("ul", items);
            let (title, closing) = (escaped(title), escaped(closing));
            format!("<aside><h2>{title}</h2>{items}<p><strong>{closing}</strong></p></aside>\n")
        }
        Block::Sign(rows) => {
            let rows: String = rows
                .iter()
                .map(|(what, record)| {
                    let (what, record) = (escaped(what), escaped(record));
                    format!("<tr><td>☐ {what}</td><td class=blank>{record}</td><td></td></tr>")
                })
                .collect();
            let head = "<tr><th>Check</th><th>Found</th><th>Date, initials</th></tr>";
            format!("<table><thead>{head}</thead><tbody>{rows}</tbody></table>\n")
        }
    }
}

fn image(png: &[u8], words: &str) -> String {
    let data = base64::engine::general_purpose::STANDARD.encode(png);
    format!("<img alt=\"{}\" src=\"data:image/png;base64,{data}\">", escaped(words))
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

const STYLE: &str = "
*{box-sizing:border-box}
body{margin:0;background:#E4E7E6;color:#1E2A30;font:16px/1.5 system-ui,'Segoe UI','Helvetica Neue',Arial,sans-serif}
main{max-width:900px;margin:0 auto;background:#fff;padding:32px 40px 24px;min-height:100vh}
header{display:flex;justify-content:space-between;gap:24px;border-bottom:3px solid ACCENT;padding-bottom:10px}
h1{font-size:1.5rem;line-height:1.2;margin:0}
.sub{margin:.2rem 0 0;color:#5A676D}
.shop{display:flex;gap:14px;text-align:right;font-size:.85rem;color:#5A676D;align-items:flex-start}
.shop strong{font-size:1rem;color:ACCENT}
.shop img{height:64px;width:auto;max-width:150px;object-fit:contain}
.shop strong{white-space:nowrap}
dl{display:grid;grid-template-columns:1fr 1fr;gap:2px 24px;margin:14px 0;font-size:.9rem}
dl div{display:flex;gap:10px}
dt{font-weight:600;color:ACCENT;min-width:5.2em}
dd{margin:0}
h2{font-size:1.1rem;color:ACCENT;margin:1.2rem 0 .2rem;break-after:avoid}
p,ul,ol{margin:.2rem 0}
ul,ol{padding-left:1.4em}
li{margin:.1rem 0}
.pictures{display:grid;grid-template-columns:1fr 1fr;gap:14px;margin:14px 0;break-inside:avoid}
figure{margin:0}
figure img{width:100%;height:auto;display:block;border:1px solid #C4C9C7;border-radius:4px}
figcaption{font-size:.82rem;color:#5A676D;margin-top:3px}
table{border-collapse:collapse;width:100%;font-size:.88rem}
th{text-align:left;background:#EEF4F3;color:ACCENT}
th,td{padding:4px 8px;border-bottom:1px solid #D2D5D2;vertical-align:top}
aside{background:#FDF6E6;border:1px solid #C98A2B;border-radius:4px;padding:4px 18px 10px;margin:18px 0 12px;break-inside:avoid;font-size:.92rem}
aside h2{color:#1E2A30;margin-top:.5rem}
footer{margin-top:18px;padding-top:6px;border-top:1px solid #D2D5D2;font-size:.75rem;color:#5A676D}
@media (max-width:640px){main{padding:18px}.pictures,dl{grid-template-columns:1fr}header{flex-direction:column}.shop{text-align:left}}
@page{size:A4;margin:12mm 14mm}
@media print{
body{background:#fff;font-size:9.2pt;line-height:1.32;-webkit-print-color-adjust:exact;print-color-adjust:exact}
main{max-width:none;padding:0;min-height:0}
h1{font-size:15pt}
.shop{font-size:8pt}
h2{font-size:11pt;margin:2.6mm 0 .4mm}
dl{margin:2mm 0;font-size:8.6pt}
.pictures{grid-template-columns:1fr 1fr;margin:2mm 0;gap:4mm}
figcaption{font-size:8pt;margin-top:.5mm}
aside{margin:3mm 0 2mm;padding:.5mm 5mm 2mm;font-size:8.6pt}
footer{margin-top:2mm}
}
";

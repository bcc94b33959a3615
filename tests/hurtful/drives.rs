//! Movers that drive one another in ways that can't be.

use dryberth::model::Layout;

fn problems(movers: &str) -> Vec<String> {
    let text = format!(
        r#"(schema: 1, name: "drives", origin: "floor", pump: "none",
            bodies: [(name: "floor", role: Floor, shape: Box(from: (0, 0, -1), to: (9, 9, 0)))],
            movers: [{movers}])"#
    );
    let options =
        ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let layout: Layout = options.from_str(&text).expect("it is well written");
    let said = layout.problems();
    said.iter().map(|p| format!("{}: {}; {}", p.place(), p.found, p.expected)).collect()
}

fn arm(name: &str, driven: &str) -> String {
    format!(
        r#"(name: "{name}", kind: Roof, shapes: [Box(from: (0, 0, 0), to: (5, 5, 5))],
            motion: Swing(through: (0, 0, 0), along: (0, 0, 1), from_deg: 0, to_deg: 90), {driven}),"#
    )
}

#[track_caller]
fn said(problems: &[String], place: &str, words: &str) {
    let found = problems.iter().any(|problem| problem.contains(place) && problem.contains(words));
    assert!(found, "`{place}` and `{words}` in {problems:?}");
}

#[test]
fn rings_are_refused_and_named() {
    let driven = |by: &str| format!(r#"driven: (by: "{by}", table: [(0, 0), (90, 90)])"#);
    let found = problems(&format!("{}{}", arm("one", &driven("two")), arm("two", &driven("one"))));
    said(&found, "movers[0].driven.by", "`one` by `two` by `one`");
    let found = problems(&arm("self", &driven("self")));
    said(&found, "movers[0].driven.by", "a ring of drivers");
    let chain = [arm("a", ""), arm("b", &driven("a")), arm("c", &driven("b"))].concat();
    assert!(problems(&chain).is_empty(), "{:?}", problems(&chain));
}

#[test]
fn tables_that_go_back_or_beyond_and_unknown_drivers_are_refused() {
    let with = |table: &str| arm("led", &format!(r#"driven: (by: "lead", table: [{table}])"#));
    let ask = |table: &str| problems(&format!("{}{}", arm("lead", ""), with(table)));
    said(&ask("(0, 0)"), "movers[1].driven.table", "1 pairs");
    said(&ask("(0, 0), (40, 10), (40, 20)"), "movers[1].driven.table", "rising");
    said(&ask("(0, 0), (90, 120)"), "movers[1].driven.table", "0 to 90°");
    said(&ask("(0, 0), (90, NaN)"), "movers[1].driven.table", "two numbers");
    let found = problems(&arm("led", r#"driven: (by: "leed", table: [(0, 0), (1, 1)])"#));
    said(&found, "movers[0].driven.by", "did you mean `led`?");
}

//! Options as rules; every spot on every car against a check of its own.

use dryberth::checks::{Boot, Verdict, evaluate};
use dryberth::compare::{CarOptions, CarsError, every_car, matrix, stated_cars, what_to_unbolt};
use dryberth::format::{layout_from_text, open_demo};
use dryberth::model::{OptionModule, OptionRule};
use proptest::prelude::*;

/// A rule as nested data, written out with more brackets than it needs, and what it means.
#[derive(Debug, Clone)]
enum Told {
    Has(usize),
    Not(Box<Told>),
    Both(Box<Told>, Box<Told>),
    Either(Box<Told>, Box<Told>),
}

const NAMES: [&str; 4] = ["tow-bar", "space-saver wheel", "amplifier", "stow and go"];

impl Told {
    fn text(&self) -> String {
        match self {
            Told::Has(3) => "'stow and go'".to_string(),
            Told::Has(option) => NAMES[*option].to_string(),
            Told::Not(rule) => format!("not ({})", rule.text()),
            Told::Both(a, b) => format!("({}) and ({})", a.text(), b.text()),
            Told::Either(a, b) => format!("({}) or ({})", a.text(), b.text()),
        }
    }

    fn holds(&self, car: u8) -> bool {
        match self {
            Told::Has(option) => car >> option & 1 == 1,
            Told::Not(rule) => !rule.holds(car),
            Told::Both(a, b) => a.holds(car) && b.holds(car),
            Told::Either(a, b) => a.holds(car) || b.holds(car),
        }
    }
}

fn told() -> impl Strategy<Value = Told> {
    (0..4_usize).prop_map(Told::Has).prop_recursive(5, 40, 2, |inner| {
        prop_oneof![
            inner.clone().prop_map(|rule| Told::Not(Box::new(rule))),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| Told::Both(Box::new(a), Box::new(b))),
            (inner.clone(), inner).prop_map(|(a, b)| Told::Either(Box::new(a), Box::new(b))),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn a_rule_written_out_means_the_same_on_every_car(told in told()) {
        let options = NAMES.map(OptionModule::called);
        let text = told.text();
        prop_assume!(text.len() < 900);
        let rule = OptionRule::read(&text, &options).map_err(|e| TestCaseError::fail(e.to_string()))?;
        for car in 0..16_u8 {
            prop_assert_eq!(rule.holds(&|option| car >> option & 1 == 1), told.holds(car), "{} on {}", text, car);
        }
    }

    #[test]
    fn no_text_panics(text in "\\PC{0,60}") {
        let _ = OptionRule::read(&text, &NAMES.map(OptionModule::called));
    }
}

/// Every combination of both demo cars, with the two spots that are least work; the whole of both demos
/// is run by tests/referees/matrix.py.
#[test]
fn every_combination_equals_a_check_of_its_own() {
    for (demo, spots) in [
        ("wrenfield-drop-top", ["In its well, as built", "On the amplifier bracket"]),
        ("sandlark-cabriolet", ["On the jack bracket", "On the jack bracket, 28 mm back"]),
    ] {
        let mut opened = open_demo(Some(demo)).expect("the demo");
        opened.layout.spots.retain(|spot| spots.contains(&spot.name.as_str()));
        // A coarse water grid: the same question with fewer cells.
        opened.layout.limits.water_step_mm = 20.0;
        let cars = every_car(&opened.layout).expect("cars");
        let found =
            matrix(&opened.layout, &opened.pump, &opened.meshes, &cars, false).expect("a matrix");
        assert_eq!(found.cars, cars);
        for (index, car) in cars.iter().enumerate() {
            let boot = opened.boot(&car.options).expect("a boot");
            for (row, spot) in found.spots.iter().zip(&opened.layout.spots) {
                let card = evaluate(&boot, spot);
                let cell = &row.cells[index];
                assert_eq!(
                    (cell.verdict, cell.score),
                    (card.verdict, card.score),
                    "{demo}, {}",
                    car.name
                );
            }
        }
        let most = found.spots.iter().map(|row| row.serves).max().expect("spots");
        let named = found.serves_most.expect("some spot serves");
        let row = found.spots.iter().find(|row| row.spot == named).expect("its row");
        assert_eq!(row.serves, most);
        assert_eq!(row.serves, row.cells.iter().filter(|cell| cell.serves()).count());
    }
}

#[test]
fn the_layouts_rules_leave_out_cars_that_dont_exist() {
    let layout = open_demo(Some("sandlark-cabriolet")).expect("the demo").layout;
    // Four options, and no car with both tow socket and spare wheel: 16 − 4.
    let cars = every_car(&layout).expect("cars");
    assert_eq!(cars.len(), 12);
    assert!(cars.iter().all(|car| car.breaks(&layout).is_empty()));
    assert_eq!(cars[0].name, "no options");
    let both = ["tow".to_string(), "space-saver wheel".to_string()];
    let both = CarOptions::chosen(&layout, &both).expect("a car");
    assert_eq!(both.options, ["space-saver wheel", "tow socket module"], "in the layout's order");
    assert_eq!(both.breaks(&layout), ["not (tow and wheel)"]);
    assert_eq!(stated_cars(&layout).expect("cars").len(), layout.cars.len());
    let mut none = layout.clone();
    none.option_rules.push("tow and not tow".to_string());
    assert_eq!(every_car(&none), Err(CarsError::NoCar));
    let mut many = layout.clone();
    many.options = (0..70).map(|index| OptionModule::called(&format!("option {index}"))).collect();
    many.option_rules.clear();
    assert!(matches!(every_car(&many), Err(CarsError::Many { options: 70, .. })));
}

#[test]
fn what_is_fitted_by_a_rule_is_on_the_cars_it_holds_for() {
    let mut opened = open_demo(Some("sandlark-cabriolet")).expect("the demo");
    opened.layout.limits.water_step_mm = 50.0;
    let battery =
        opened.layout.bodies.iter_mut().find(|body| body.name == "battery").expect("a battery");
    battery.option = Some("(tow or amp) and not pdc".to_string());
    assert_eq!(opened.layout.problems(), []);
    for car in every_car(&opened.layout).expect("cars") {
        let has = |name: &str| car.options.iter().any(|option| option == name);
        let wanted =
            (has("tow socket module") || has("sound amplifier")) && !has("parking aid module");
        let boot = opened.boot(&car.options).expect("a boot");
        assert_eq!(boot.bodies().any(|(body, _)| body.name == "battery"), wanted, "{}", car.name);
    }
}

#[test]
fn a_rule_that_cant_be_read_is_reported_with_place_and_nearest_name() {
    let text = include_str!("../hurtful/sound/layout.ron");
    let text = text.replace("Mesh(file: \"bump.glb\")", "Box(from: (0, 0, 0), to: (50, 40, 50))");
    let rule = "option_rules: [\"tow module or spare amplifeir\"],\n    bodies:";
    let text = text.replacen("bodies:", rule, 1);
    let error = layout_from_text("x.ron", &text).expect_err("a refusal").to_string();
    assert!(
        error.contains("option_rules[0]") && error.contains("did you mean `spare amplifier`?"),
        "{error}"
    );
    assert!(error.contains("at character 15") && error.starts_with("x.ron:"), "{error}");
}

#[test]
fn unbolting_names_what_is_in_the_way_and_only_that() {
    let mut opened = open_demo(Some("sandlark-cabriolet")).expect("the demo");
    opened.layout.limits.water_step_mm = 20.0;
    let fitted = ["parking aid module".to_string()];
    let spot = opened.layout.spot("On the jack bracket, 28 mm back").expect("the spot").clone();
    let boot = opened.boot(&fitted).expect("a boot");
    assert_eq!(evaluate(&boot, &spot).verdict, Verdict::Fail, "the module is in the way");
    let found = what_to_unbolt(&opened.layout, &opened.pump, &opened.meshes, &fitted, &spot)
        .expect("an answer")
        .expect("something helps");
    let names: Vec<&str> = found.bodies.iter().map(|body| body.body.as_str()).collect();
    assert_eq!(names, ["parking aid module"]);
    // The same as a layout in which it was measured where it goes.
    let mut moved = opened.clone();
    let module = moved.layout.bodies.iter_mut().find(|body| body.name == "parking aid module");
    module.expect("the module").place.at.z -= 190.0;
    let card = evaluate(&moved.boot(&fitted).expect("a boot"), &spot);
    assert_eq!((found.verdict, found.score), (card.verdict, card.score));
    // Nothing to unbolt where nothing fails, and none that helps a spot in the water.
    for (name, fitted) in
        [("On the jack bracket", &fitted[..]), ("In its well, as built", &fitted[..])]
    {
        let spot = opened.layout.spot(name).expect("the spot");
        let found = what_to_unbolt(&opened.layout, &opened.pump, &opened.meshes, fitted, spot);
        assert_eq!(found.expect("an answer"), None, "{name}");
    }
    let boot = Boot::usual_options(&opened.layout);
    assert!(boot.len() < opened.layout.options.len());
}

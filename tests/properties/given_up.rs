//! A boot that is made ready says how far it is and can be given up at every part.

use std::cell::RefCell;

use dryberth::checks::{Boot, PrepareError, evaluate};
use dryberth::format::open_demo;

#[test]
fn shares_rise_and_a_boot_given_up_at_any_part_is_none() {
    let opened = open_demo(Some("sandlark-cabriolet")).unwrap();
    let fitted = Boot::usual_options(&opened.layout);
    let prepare = |go_on: &dyn Fn(f64) -> bool| {
        let (layout, pump) = (opened.layout.clone(), opened.pump.clone());
        Boot::prepare_watched(layout, pump, &opened.meshes, &fitted, go_on)
    };
    let shares = RefCell::new(Vec::new());
    let watched = prepare(&|share| {
        shares.borrow_mut().push(share);
        true
    })
    .unwrap();
    let shares = shares.into_inner();
    assert!(shares.len() > 5, "{shares:?}");
    assert!(shares.windows(2).all(|pair| pair[0] <= pair[1]), "{shares:?}");
    assert!(shares.iter().all(|share| (0.0..=1.0).contains(share)), "{shares:?}");
    // Watching changes nothing.
    let spot = &opened.layout.spots[0];
    let plain = opened.boot(&fitted).unwrap();
    assert_eq!(evaluate(&watched, spot), evaluate(&plain, spot));
    for at in [0.0, 0.1, 0.95] {
        let given_up = prepare(&|share| share < at);
        assert!(matches!(given_up, Err(PrepareError::GivenUp)), "at {at}");
    }
}

//! A, B and the able-bodied curve look alike on the page and in every other picture.

use kneedamp::report::plot_style::compared_styles;
use kneedamp::serve::assets::STYLE;

#[test]
fn page_styles_are_those_of_the_plots() {
    let light = STYLE.split(":root {").nth(1).and_then(|t| t.split('}').next()).expect("light colours");
    let start = kneedamp::report::page_data::start(&super::models()).expect("good models");
    for ((name, hex, dashes), property) in compared_styles().into_iter().zip(["--a", "--b", "--soft"]) {
        assert!(
            light.contains(&format!("{property}: {};", hex.to_lowercase())),
            "{property} is {hex} in plots"
        );
        let told: Vec<f64> = serde_json::from_value(start["dashes"][name].clone()).expect("numbers");
        assert_eq!(told, dashes, "{name}");
    }
    let distinct = compared_styles().map(|(_, _, dashes)| format!("{dashes:?}"));
    assert!(distinct[0] != distinct[1] && distinct[1] != distinct[2] && distinct[0] != distinct[2]);
}

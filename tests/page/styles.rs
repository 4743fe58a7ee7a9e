//! A, B and the able-bodied curve look alike on the page and in every other picture.

use std::collections::BTreeSet;

use kneedamp::report::plot_style::compared_styles;
use kneedamp::serve::assets::STYLE;

#[test]
fn page_styles_are_those_of_the_plots() {
    let light = STYLE.split(":root {").nth(1).and_then(|t| t.split('}').next()).expect("light colours");
    let start = kneedamp::report::page_data::start(&super::models(), super::english()).expect("good models");
    let properties = [("a", "--a"), ("b", "--b"), ("able_bodied", "--soft")];
    for (name, hex, dashes) in compared_styles() {
        // C and D are darker on the page, which writes with them
        if let Some((_, property)) = properties.iter().find(|p| p.0 == name) {
            let colour = format!("{property}: {};", hex.to_lowercase());
            assert!(light.contains(&colour), "{property} is {hex} in plots");
        }
        let told: Vec<f64> = serde_json::from_value(start["dashes"][name].clone()).expect("numbers");
        assert_eq!(told, dashes, "{name}");
    }
    let distinct = |names: &[&str]| {
        let dashes =
            compared_styles().into_iter().filter(|s| names.contains(&s.0)).map(|s| format!("{:?}", s.2));
        dashes.collect::<BTreeSet<String>>().len() == names.len()
    };
    assert!(distinct(&["a", "b", "c", "d", "able_bodied"]));
}

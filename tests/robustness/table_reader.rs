//! Separators, the decimal comma and hostile cells of tables.

use kneedamp::library::table::{Named, Table};

fn second(text: &str) -> Result<f64, String> {
    let table = Table::parse(Named { name: "t.csv", text }, &["a", "b"]).map_err(|e| e.to_string())?;
    table.number(&table.rows[0], "b").map_err(|e| e.to_string())
}

#[test]
fn separators_and_decimal_comma_are_read() {
    for text in ["a,b\n1,2.5\n", "a;b\n1;2,5\n", "a\tb\r\n1\t2,5\r\n", "\u{feff}a;b\r\n1;2.5\r\n"] {
        assert_eq!(second(text), Ok(2.5), "{text:?}");
    }
}

#[test]
fn a_comma_table_has_no_decimal_comma() {
    assert!(second("a,b\n1,\"2,5\"\n").is_err());
    let error = second("a,b\n1,2,5\n").unwrap_err();
    assert!(error.contains("decimal comma") && error.contains("line 2"), "{error}");
    assert!(second("a;b\n1;1,234.5\n").is_err());
}

#[test]
fn a_huge_cell_is_not_echoed_whole() {
    let error = second(&format!("a,b\n1,{}\n", "x".repeat(200_000))).unwrap_err();
    assert!(error.len() < 300 && error.contains("t.csv"), "{error}");
}

//! Reading the tables in `tests/data`, and comparing with them.

pub(crate) fn table(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines().filter(|l| !l.starts_with('#')).skip(1).map(|l| l.split(',').collect())
}

pub(crate) fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

pub(crate) fn close(a: f64, b: f64, tolerance: f64, what: &str) {
    assert!((a - b).abs() <= tolerance, "{what}: {a} is not {b} within {tolerance}");
}

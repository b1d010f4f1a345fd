//! Folds the compiled page into one HTML file.
fn main() {}

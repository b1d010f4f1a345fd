//! Charts, drawn natively as SVG and read back.

mod scenes;
mod svg;

use scenes::gallery;
use svg::{parse, text_box};

#[test]
fn no_text_leaves_the_frame_and_none_runs_into_another() {
    for (name, frame, drawing) in gallery() {
        let elements = parse(&drawing);
        let height = if name.starts_with("strip") { 74.0 } else { f64::from(frame.height_px) };
        let boxes: Vec<_> = elements
            .iter()
            .filter(|element| element.tag == "text")
            .map(|element| (element.text.clone(), text_box(element)))
            .collect();
        assert!(name.starts_with("bits-empty") || !boxes.is_empty(), "{name} has no text");
        for (index, (text, one)) in boxes.iter().enumerate() {
            assert!(
                one.0 >= -0.5 && one.1 >= -0.5 && one.2 <= f64::from(frame.width_px) + 0.5 && one.3 <= height + 0.5,
                "{name}: '{text}' at {one:?} leaves the frame"
            );
            for (other_text, other) in &boxes[index + 1..] {
                let apart = one.2 <= other.0 || other.2 <= one.0 || one.3 <= other.1 + 1.0 || other.3 <= one.1 + 1.0;
                assert!(apart, "{name}: '{text}' {one:?} and '{other_text}' {other:?} overlap");
            }
        }
    }
}

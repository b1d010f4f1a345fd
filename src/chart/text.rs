//! How wide text is, from a table.
//!
//! A surface cannot be asked: on a canvas, plotters measures by putting a styled element into the document, which a
//! strict content security policy refuses. Nothing in this module's neighbours asks it either.

/// Advance widths of the printable ASCII characters from the space on, in thousandths of the text height: for each the
/// wider of DejaVu Sans and Liberation Sans (which has Arial's widths), read from the fonts' `hmtx` tables. Common
/// sans-serif faces are narrower, so what is kept free is enough.
const ASCII_WIDTHS: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636,
    636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 556, 1015, 684, 686, 722, 770, 667, 611, 778, 752, 295,
    500, 667, 557, 863, 748, 787, 667, 787, 722, 667, 611, 732, 684, 989, 685, 667, 685, 390, 337, 390, 838,
    556, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521,
    392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];

/// The width of a text of this height (its font size), in the same unit.
pub(super) fn width(text: &str, height: f64) -> f64 {
    let thousandths = |character: char| match character {
        '°' => 500,
        '·' => 318,
        '–' | 'µ' => 640,
        _ => (character as usize)
            .checked_sub(32)
            .and_then(|index| ASCII_WIDTHS.get(index))
            .map_or(1000, |&width| u32::from(width)),
    };
    f64::from(text.chars().map(thousandths).sum::<u32>()) / 1000.0 * height
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advance widths of DejaVu Sans 2.37: digits 636, full stop 318, space 318, G 775, H 752, z 525 of 1000.
    #[test]
    fn no_text_is_taken_for_narrower_than_the_widest_common_face_draws_it() {
        assert!(width("9.50 GHz", 1.0) >= 0.636 * 3.0 + 0.318 * 2.0 + 0.775 + 0.752 + 0.525);
        assert_eq!(width("", 12.0), 0.0);
        assert_eq!(width("00", 12.0), 2.0 * width("0", 12.0));
    }
}

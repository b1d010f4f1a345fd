//! What a change of settings is about, in words.

use super::wording::joined;
use crate::pipeline::Settings;

/// More things at once are not listed.
const MOST_LISTED: usize = 3;

/// What differs between two settings: "the reference and the tolerances". `None` where nothing does but the frequency looked
/// at and the names on the sheet, which are no corrections.
pub fn what_changed(before: &Settings, after: &Settings) -> Option<String> {
    // Every setting is listed, so that a new one does not compile before it has its words here.
    let Settings {
        settings_version: _,
        part_name: _,
        operator: _,
        frequency_hz: _,
        transmission,
        path,
        interpolate,
        leave_out_other_references,
        naming,
        file_order,
        capture_order,
        part_is_active,
        zero_word_loss_db,
        layout,
        wanted,
        unsigned_phases,
        reference,
        rule,
        target_grid,
        tolerance,
        design_band_hz,
        usable_share_pct,
        band_error,
        held_error_pct,
        gain_ceiling_db,
        controller_map,
        specification,
        held_codes,
        typical,
    } = before;
    let differs = [
        (*transmission != after.transmission, "the transmission"),
        (*path != after.path, "the path between ports"),
        (*interpolate != after.interpolate, "the interpolation"),
        (*leave_out_other_references != after.leave_out_other_references, "other reference impedances"),
        (*naming != after.naming, "how names are read"),
        (*file_order != after.file_order, "the order of files"),
        (*capture_order != after.capture_order, "the order of capture"),
        (*part_is_active != after.part_is_active, "whether the part amplifies"),
        (*zero_word_loss_db != after.zero_word_loss_db, "the zero word's loss"),
        (*layout != after.layout, "the layout"),
        (*wanted != after.wanted, "the wanted settings"),
        (*unsigned_phases != after.unsigned_phases, "the sign of listed phases"),
        (*reference != after.reference, "the reference"),
        (*rule != after.rule, "the selection rule"),
        (*target_grid != after.target_grid, "the targets"),
        (*tolerance != after.tolerance, "the tolerances"),
        (*design_band_hz != after.design_band_hz, "the design band"),
        (*usable_share_pct != after.usable_share_pct, "the usable share"),
        (*band_error != after.band_error, "the error of a band's table"),
        (*held_error_pct != after.held_error_pct, "the error to hold"),
        (*gain_ceiling_db != after.gain_ceiling_db, "the gain ceiling"),
        (*controller_map != after.controller_map, "the controller map"),
        (*specification != after.specification, "the specification"),
        (*held_codes != after.held_codes, "the codes held"),
        (*typical != after.typical, "the typical curve"),
    ];
    let names: Vec<String> =
        differs.iter().filter(|(differs, _)| *differs).map(|(_, name)| (*name).to_owned()).collect();
    match names.len() {
        0 => None,
        1..=MOST_LISTED => Some(joined(&names)),
        _ => Some("several settings".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::ReferencePolicy;

    #[test]
    fn changes_are_named() {
        let before = Settings::default();
        assert_eq!(what_changed(&before, &before), None);
        let looked = Settings { frequency_hz: Some(9e9), operator: "Me".to_owned(), ..before.clone() };
        assert_eq!(what_changed(&before, &looked), None);
        let reference = Settings { reference: ReferencePolicy::FullRing, ..before.clone() };
        assert_eq!(what_changed(&before, &reference).as_deref(), Some("the reference"));
        let two = Settings { usable_share_pct: 80.0, ..reference };
        assert_eq!(what_changed(&before, &two).as_deref(), Some("the reference and the usable share"));
        let many = Settings { interpolate: true, part_is_active: true, ..two };
        assert_eq!(what_changed(&before, &many).as_deref(), Some("several settings"));
    }
}

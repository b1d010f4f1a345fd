//! The cautions printed on every sheet: short reminders, not a safety manual.

/// In the order in which they are printed.
pub const CAUTIONS: [&str; 8] = [
    "The part's own limits and local rules come first; nothing on this sheet replaces them.",
    "Check a word table against the part's limits before it drives hardware: a wrong table can ask for far too \
     much gain, and so drive far too much power into what follows.",
    "RF power: begin low, with the output terminated and enough attenuation before the analyser or any receiver.",
    "Static discharge: wrist strap and mat on, and cables discharged before they are connected.",
    "Supplies before logic, logic within its supplies, RF last; the reverse when switching off.",
    "Amplifiers that need a negative gate voltage get it before the drain voltage, and lose it after.",
    "Radiated power: work into loads, a shielded box or a chamber, and keep people out of the beam; a beam table \
     can turn full power towards anyone. Let the controller fall back to a safe word.",
    "Transmitting into the open may need a licence, and keeps to the limits for emissions and for people's exposure.",
];

/// The same in brief, for a printed page.
pub const CAUTIONS_IN_BRIEF: [&str; 2] = [
    "Before hardware is driven: defer to the part's own limits and local rules. A wrong word table can ask for far too \
     much power. RF power: begin low, the output terminated. Static discharge: strap and mat. Supplies before logic, \
     logic before RF; a negative gate voltage before the drain's.",
    "Radiated power: work into loads, a shielded box or a chamber, and keep people out of the beam. Transmitting into \
     the open may need a licence, and keeps to the limits for emissions and people's exposure.",
];

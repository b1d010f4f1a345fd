//! Which word serves which target: nominal, chosen and held mappings.

//! The made-up part: Touchstone bytes, one file at a time.

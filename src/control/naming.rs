//! File names to control words.

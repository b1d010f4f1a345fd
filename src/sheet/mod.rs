//! The questions and their answers: the one model of everything that is shown, printed and exported.

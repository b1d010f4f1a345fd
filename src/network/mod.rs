//! Two-port algebra: cascades, passivity, reciprocity.

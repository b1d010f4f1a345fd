//! The layout that the measured bit weights suggest.

//! Drawing onto any plotters backend: canvas in the page, SVG in tests.

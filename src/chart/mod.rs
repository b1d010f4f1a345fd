//! Drawing onto any plotters surface: canvas in the page, SVG in tests.
//!
//! Every chart is a function over a surface, a [`Frame`], a [`Theme`] and plain slices. It draws with plotters' strokes,
//! shapes and text, lays out for itself, measures text by a table of its own, and returns the geometry that a pointer
//! needs to be read back. Coordinates are pixels of the backing store, from the top left corner. A chart of nothing is
//! an empty chart, not an error.

mod axis;
mod beside_limits;
mod bit_weights;
mod code_traces;
mod colour;
mod constellation;
mod curves;
mod density;
mod density_axes;
mod error;
mod error_map;
mod levels;
mod part_codes;
mod pen;
mod plane;
mod plane_grid;
mod plane_key;
mod plot;
mod resolution;
mod runs;
mod series;
mod strip;
mod text;
mod theme;

pub use axis::{Axis, Scale, Tick};
pub use beside_limits::{BesideLimitsData, KindMark, beside_limits};
pub use bit_weights::{BitMark, bit_weights};
pub use code_traces::{CodeTrace, CodeTracesData, code_traces};
pub use colour::{Oklch, Paper, Rgb, StatePalette, density_colour, difference_colour};
pub use constellation::{ConstellationData, constellation};
pub use curves::{CurvesData, Lane, Vertical, curves};
pub use density::{DensityRaster, Slabs, Values, columns_of, frequencies_for};
pub use density_axes::{DensityData, density_axes, density_plot};
pub use error::ChartError;
pub use error_map::{ErrorMapData, error_map};
pub use levels::{LevelsData, levels};
pub use part_codes::{CodesData, codes};
pub use pen::Area;
pub use plane::{Highlight, PlaneData, PlaneGeometry, PlaneWindow, plane};
pub use plot::Plot;
pub use resolution::{ResolutionData, resolution};
pub use series::{Curve, Limit};
pub use strip::{LimitedBand, StripData, strip};
pub use theme::{Dashes, Frame, LineLook, Marker, Role, Theme};

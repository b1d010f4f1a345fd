//! Canvases: sized to the screen's own pixels, drawn on through plotters.

use super::dom::{self, by_id};
use super::surface::{self, Rectangles, Surface, context_of};
use crate::chart::{ChartError, Frame, Theme};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement, HtmlElement, MouseEvent};

/// Dots per CSS pixel on paper: four give 384 dots an inch.
const PRINT_SCALE: f64 = 4.0;

/// A canvas ready to be drawn on.
pub struct Pad {
    /// The surface.
    pub surface: Surface,
    /// Its size.
    pub frame: Frame,
    /// Its colours.
    pub theme: &'static Theme,
    /// The element.
    pub element: HtmlCanvasElement,
}

/// What a canvas is drawn for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Medium {
    /// The screen, in its light or dark colours.
    Screen,
    /// Paper, wherever it is shown.
    Paper,
}

/// Sizes a canvas of the markup for the screen and draws on it, clearing what was there. Nothing happens while it is
/// not laid out, or more than a window's height away from what is seen: it is drawn when the page has been scrolled.
pub fn draw<T>(id: &str, drawing: impl FnOnce(&mut Pad) -> Result<T, ChartError>) -> Option<T> {
    let element: HtmlCanvasElement = by_id(id);
    if is_near(&element) { draw_on(&element, Medium::Screen, drawing) } else { None }
}

/// Whether an element is seen, or would be after scrolling by a window's height.
pub fn is_near(element: &Element) -> bool {
    let height =
        dom::window().inner_height().ok().and_then(|height| height.as_f64()).unwrap_or(f64::INFINITY);
    let bounds = element.get_bounding_client_rect();
    bounds.bottom() > -height && bounds.top() < 2.0 * height
}

/// The same for any canvas and medium.
pub fn draw_on<T>(
    element: &HtmlCanvasElement,
    medium: Medium,
    drawing: impl FnOnce(&mut Pad) -> Result<T, ChartError>,
) -> Option<T> {
    let bounds = element.unchecked_ref::<Element>().get_bounding_client_rect();
    let scale = match medium {
        Medium::Screen => dom::window().device_pixel_ratio().max(1.0),
        Medium::Paper => PRINT_SCALE,
    };
    let (width, height) = (bounds.width() * scale, bounds.height() * scale);
    if width < 32.0 || height < 16.0 {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a canvas is small and positive"
    )]
    let (width_px, height_px) = (width.round() as u32, height.round() as u32);
    let (theme, rectangles) = match medium {
        Medium::Paper => (&Theme::PRINT, Rectangles::Shapes),
        Medium::Screen if dark() => (&Theme::DARK, Rectangles::Pixels),
        Medium::Screen => (&Theme::LIGHT, Rectangles::Pixels),
    };
    let mut pad = Pad::new(element, Frame::canvas(width_px, height_px, scale), theme, rectangles)?;
    drawing(&mut pad).ok()
}

/// White paper apart from the page, for a canvas of the markup to be drawn on again so many times as fine as on the
/// screen. `None` while that canvas is not laid out.
pub fn paper_like(id: &str, finer: f64) -> Option<Pad> {
    let bounds = by_id::<Element>(id).get_bounding_client_rect();
    let scale = dom::window().device_pixel_ratio().max(1.0) * finer;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a canvas is small and positive"
    )]
    let pixels = |side: f64| (side * scale).round() as u32;
    let (width_px, height_px) = (pixels(bounds.width()), pixels(bounds.height()));
    if width_px == 0 || height_px == 0 {
        return None;
    }
    let element: HtmlCanvasElement = dom::make("canvas", "").unchecked_into();
    let pad =
        Pad::new(&element, Frame::canvas(width_px, height_px, scale), &Theme::PRINT, Rectangles::Pixels)?;
    let context = context_of(&element)?;
    context.set_fill_style_str("#fff");
    context.fill_rect(0.0, 0.0, f64::from(width_px), f64::from(height_px));
    Some(pad)
}

/// Where the pointer is on a canvas of the markup, in the canvas's own pixels.
pub fn position(id: &str, event: &MouseEvent) -> (f64, f64) {
    let canvas: HtmlCanvasElement = by_id(id);
    let bounds = canvas.unchecked_ref::<Element>().get_bounding_client_rect();
    let across = (f64::from(event.client_x()) - bounds.left()) / bounds.width();
    let down = (f64::from(event.client_y()) - bounds.top()) / bounds.height();
    (across * f64::from(canvas.width()), down * f64::from(canvas.height()))
}

/// Whether the system asks for dark colours.
pub fn dark() -> bool {
    let query = dom::window().match_media("(prefers-color-scheme: dark)");
    query.ok().flatten().is_some_and(|query| query.matches())
}

impl Pad {
    /// A canvas sized and cleared; sizing also makes what follows vector graphics again in print.
    fn new(
        element: &HtmlCanvasElement,
        frame: Frame,
        theme: &'static Theme,
        rectangles: Rectangles,
    ) -> Option<Self> {
        element.set_width(frame.width_px);
        element.set_height(frame.height_px);
        let surface = Surface::new(element, rectangles)?;
        Some(Self { surface, frame, theme, element: element.clone() })
    }

    /// Lays an image over what was drawn so far: `width` pixels across, four bytes a pixel, with its upper left corner at
    /// a point. Clear pixels leave what is there.
    pub fn image(&mut self, rgba: &[u8], width: usize, upper_left: (f64, f64)) {
        // What the browser refuses to draw is missing from the picture and from nothing else.
        let _ = surface::lay(self.surface.settled(), rgba, width, upper_left);
    }
}

/// Scales an element from its left edge; 1 is its full width.
pub fn scale_across(element: &Element, fraction: f64) {
    let style = element.unchecked_ref::<HtmlElement>().style();
    let _ = style.set_property("transform", &format!("scaleX({fraction:.4})"));
}

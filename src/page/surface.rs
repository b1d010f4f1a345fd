//! A canvas that plotters draws on, quick at what plots have thousands of: small filled rectangles.

use super::dom;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};
use plotters_canvas::CanvasBackend;
use wasm_bindgen::{Clamped, JsCast};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ImageData};

/// From so many opaque rectangles in a row on they are painted as one image. Handing each to the browser takes a few
/// microseconds, most of them for the text of its colour.
const FEWEST_FOR_AN_IMAGE: usize = 64;

/// What rectangles become.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Rectangles {
    /// Shapes, which stay sharp on paper.
    Shapes,
    /// Pixels, where there are many.
    Pixels,
}

/// The surface of a canvas. Rectangles wait for what is drawn after them; the last are painted when it is dropped.
pub struct Surface {
    backend: CanvasBackend,
    context: CanvasRenderingContext2d,
    rectangles: Rectangles,
    waiting: Vec<Filled>,
}

/// A rectangle filled with an opaque colour.
#[derive(Clone, Copy)]
struct Filled {
    upper_left: BackendCoord,
    bottom_right: BackendCoord,
    colour: (u8, u8, u8),
}

impl Surface {
    /// Draws on a canvas.
    pub fn new(element: &HtmlCanvasElement, rectangles: Rectangles) -> Option<Self> {
        let backend = CanvasBackend::with_canvas_object(element.clone())?;
        Some(Self { backend, context: context_of(element)?, rectangles, waiting: Vec::new() })
    }

    /// The canvas with everything on it that was drawn so far.
    pub fn settled(&mut self) -> &CanvasRenderingContext2d {
        self.settle();
        &self.context
    }

    /// The backend, for what has to lie over everything that was drawn so far.
    fn over(&mut self) -> &mut CanvasBackend {
        self.settle();
        &mut self.backend
    }

    fn settle(&mut self) {
        let waiting = std::mem::take(&mut self.waiting);
        let as_image = self.rectangles == Rectangles::Pixels && waiting.len() >= FEWEST_FOR_AN_IMAGE;
        if as_image && self.paint(&waiting).is_some() {
            return;
        }
        for filled in waiting {
            let ((left, top), (right, bottom)) = (filled.upper_left, filled.bottom_right);
            let (red, green, blue) = filled.colour;
            self.context.set_fill_style_str(&format!("#{red:02x}{green:02x}{blue:02x}"));
            let (width, height) = (f64::from(right - left), f64::from(bottom - top));
            self.context.fill_rect(left.into(), top.into(), width, height);
        }
    }

    /// Paints rectangles as one image; clear pixels of it leave what is there.
    fn paint(&self, filled: &[Filled]) -> Option<()> {
        let (width, height) = self.get_size();
        let whole = ((0, 0), (i32::try_from(width).ok()?, i32::try_from(height).ok()?));
        let shown = |one: &Filled| {
            let ((left, top), (right, bottom)) = whole;
            let upper_left = (one.upper_left.0.max(left), one.upper_left.1.max(top));
            let bottom_right = (one.bottom_right.0.min(right), one.bottom_right.1.min(bottom));
            let is_seen = upper_left.0 < bottom_right.0 && upper_left.1 < bottom_right.1;
            is_seen.then_some(Filled { upper_left, bottom_right, ..*one })
        };
        let filled: Vec<Filled> = filled.iter().filter_map(shown).collect();
        let left = filled.iter().map(|one| one.upper_left.0).min()?;
        let top = filled.iter().map(|one| one.upper_left.1).min()?;
        let right = filled.iter().map(|one| one.bottom_right.0).max()?;
        let bottom = filled.iter().map(|one| one.bottom_right.1).max()?;
        let size = |from: i32, to: i32| usize::try_from(to - from).ok();
        let (width, height) = (size(left, right)?, size(top, bottom)?);
        let mut rgba = vec![0_u8; width * height * 4];
        for one in &filled {
            let (red, green, blue) = one.colour;
            let columns = size(left, one.upper_left.0)?..size(left, one.bottom_right.0)?;
            for row in size(top, one.upper_left.1)?..size(top, one.bottom_right.1)? {
                let pixels = &mut rgba[4 * (row * width + columns.start)..4 * (row * width + columns.end)];
                pixels.as_chunks_mut().0.fill([red, green, blue, u8::MAX]);
            }
        }
        lay(&self.context, &rgba, width, (left.into(), top.into()))
    }
}

impl Drop for Surface {
    fn drop(&mut self) {
        self.settle();
    }
}

/// An image of `width` pixels across, four bytes a pixel, as a PNG in a `data:` address. `None` where the browser refuses.
pub fn png_address(rgba: &[u8], width: usize) -> Option<String> {
    let width = u32::try_from(width).ok().filter(|width| *width > 0)?;
    let image = ImageData::new_with_u8_clamped_array(Clamped(rgba), width).ok()?;
    let canvas: HtmlCanvasElement = dom::make("canvas", "").unchecked_into();
    canvas.set_width(width);
    canvas.set_height(image.height());
    context_of(&canvas)?.put_image_data(&image, 0.0, 0.0).ok()?;
    canvas.to_data_url().ok()
}

/// Lays an image of `width` pixels across, four bytes a pixel, with its upper left corner at a point. Clear pixels leave
/// what is there. `None` where the browser refuses.
pub fn lay(
    context: &CanvasRenderingContext2d,
    rgba: &[u8],
    width: usize,
    (left, top): (f64, f64),
) -> Option<()> {
    let width = u32::try_from(width).ok().filter(|width| *width > 0)?;
    let image = ImageData::new_with_u8_clamped_array(Clamped(rgba), width).ok()?;
    UNDERLAY.with(|canvas| {
        // Sizing makes new pixels, which takes as long as laying the image.
        if (canvas.width(), canvas.height()) != (width, image.height()) {
            canvas.set_width(width);
            canvas.set_height(image.height());
        }
        context_of(canvas)?.put_image_data(&image, 0.0, 0.0).ok()?;
        context.draw_image_with_html_canvas_element(canvas, left, top).ok()
    })
}

thread_local! {
    /// Where an image lies before it is laid over what is on another canvas.
    static UNDERLAY: HtmlCanvasElement = dom::make("canvas", "").unchecked_into();
}

/// A canvas's drawing context.
pub fn context_of(canvas: &HtmlCanvasElement) -> Option<CanvasRenderingContext2d> {
    canvas.get_context("2d").ok().flatten()?.dyn_into().ok()
}

type Failure = DrawingErrorKind<<CanvasBackend as DrawingBackend>::ErrorType>;

impl DrawingBackend for Surface {
    type ErrorType = <CanvasBackend as DrawingBackend>::ErrorType;

    fn draw_rect<S: BackendStyle>(
        &mut self,
        upper_left: BackendCoord,
        bottom_right: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Result<(), Failure> {
        let BackendColor { rgb, alpha } = style.color();
        if !fill || alpha < 1.0 {
            return self.over().draw_rect(upper_left, bottom_right, style, fill);
        }
        let (one, other) = (upper_left, bottom_right);
        let upper_left = (one.0.min(other.0), one.1.min(other.1));
        let bottom_right = (one.0.max(other.0), one.1.max(other.1));
        self.waiting.push(Filled { upper_left, bottom_right, colour: rgb });
        Ok(())
    }

    fn get_size(&self) -> (u32, u32) {
        self.backend.get_size()
    }

    fn ensure_prepared(&mut self) -> Result<(), Failure> {
        self.backend.ensure_prepared()
    }

    fn present(&mut self) -> Result<(), Failure> {
        self.over().present()
    }

    fn draw_pixel(&mut self, point: BackendCoord, colour: BackendColor) -> Result<(), Failure> {
        self.over().draw_pixel(point, colour)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Result<(), Failure> {
        self.over().draw_line(from, to, style)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Result<(), Failure> {
        self.over().draw_path(path, style)
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Result<(), Failure> {
        self.over().fill_polygon(corners, style)
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Result<(), Failure> {
        self.over().draw_circle(centre, radius, style, fill)
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        at: BackendCoord,
    ) -> Result<(), Failure> {
        self.over().draw_text(text, style, at)
    }
}

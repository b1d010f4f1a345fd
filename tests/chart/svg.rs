//! Reads back what plotters' SVG surface wrote: one element a line, text on the line after its tag.

use std::collections::HashMap;

/// One drawn element.
#[derive(Debug)]
pub struct Element {
    pub tag: String,
    pub attributes: HashMap<String, String>,
    pub text: String,
}

impl Element {
    pub fn number(&self, name: &str) -> f64 {
        self.attributes[name].trim_end_matches("em").parse().expect("a number")
    }

    pub fn points(&self) -> Vec<(f64, f64)> {
        let pair = |pair: &str| {
            let (x, y) = pair.split_once(',').expect("x,y");
            (x.parse().expect("x"), y.parse().expect("y"))
        };
        self.attributes["points"].split_whitespace().map(pair).collect()
    }

    pub fn is(&self, tag: &str, attribute: &str, value: &str) -> bool {
        self.tag == tag && self.attributes.get(attribute).is_some_and(|found| found == value)
    }
}

pub fn parse(svg: &str) -> Vec<Element> {
    let mut elements = Vec::new();
    for piece in svg.split('<').skip(1).filter(|piece| !piece.starts_with(['/', '?', '!'])) {
        let (head, text) = piece.split_once('>').expect("a closed tag");
        let (tag, mut rest) = head.split_once(' ').expect("attributes");
        let mut attributes = HashMap::new();
        while let Some((name, after)) = rest.split_once("=\"") {
            let (value, next) = after.split_once('"').expect("a closed attribute");
            attributes.insert(name.trim().to_owned(), value.to_owned());
            rest = next;
        }
        elements.push(Element { tag: tag.to_owned(), attributes, text: text.trim().to_owned() });
    }
    elements
}

pub fn texts(elements: &[Element]) -> Vec<&str> {
    elements.iter().filter(|element| element.tag == "text").map(|element| element.text.as_str()).collect()
}

/// The rectangle of a text in a sans-serif face: 0.6 of its height a character is more than digits and most letters
/// take in common faces (DejaVu Sans digits 0.636, Arial digits 0.556).
pub fn text_box(element: &Element) -> (f64, f64, f64, f64) {
    let height = element.number("font-size");
    let width = 0.56 * height * element.text.chars().count() as f64;
    let (x, y) = (element.number("x"), element.number("y"));
    let left = match element.attributes["text-anchor"].as_str() {
        "start" => x,
        "end" => x - width,
        _ => x - width / 2.0,
    };
    (left, y - height * 0.5, left + width, y + height * 0.5)
}

pub fn hex(colour: sweepfold::chart::Rgb) -> String {
    format!("#{:02X}{:02X}{:02X}", colour.0, colour.1, colour.2)
}

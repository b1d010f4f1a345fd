//! What is kept of one file, what is told of it, and how it is made to fit a run.

use super::protocol::Parameters;
use crate::control::naming;
use crate::network::{TwoPort, interpolate, renormalise};
use crate::run::FileFacts;
use crate::touchstone::Network;
use num_complex::{Complex32, Complex64};
use std::rc::Rc;

/// One file as it was read.
pub struct FileRead {
    /// Its S-parameters as they are kept.
    pub parameters: Parameters,
    frequency_hz: Rc<[f64]>,
    reference_ohm: [f64; 2],
}

impl FileRead {
    /// Keeps a two-port whose frequencies are `grid`, which files share.
    pub fn new(two_port: &Network, grid: Rc<[f64]>) -> Self {
        Self {
            parameters: parameters_of(two_port),
            frequency_hz: grid,
            reference_ohm: reference_ohm_of(two_port),
        }
    }

    /// The file's S-parameters at other frequencies and at another reference impedance.
    /// The reflections enter a change of impedance in single precision, as they are kept: 1e-7 of the step.
    pub fn adapted(&self, frequency_hz: &[f64], reference_ohm: f64) -> Parameters {
        let Parameters { s11, s12, s21, s22 } = &self.parameters;
        let exact = |values: &[Complex64]| interpolate(&self.frequency_hz, values, frequency_hz);
        let single = |values: &[Complex32]| exact(&values.iter().copied().map(widened).collect::<Vec<_>>());
        let here = [single(s11), exact(s12), exact(s21), single(s22)];
        // At the reference impedance that the file has already this changes nothing.
        let at = |index: usize| {
            let [s11, s12, s21, s22] = here.each_ref().map(|values| values[index]);
            renormalise(TwoPort { s11, s12, s21, s22 }, self.reference_ohm, reference_ohm)
        };
        let two_ports: Vec<TwoPort> = (0..frequency_hz.len()).map(at).collect();
        Parameters {
            s11: two_ports.iter().map(|two_port| narrowed(two_port.s11)).collect(),
            s12: two_ports.iter().map(|two_port| two_port.s12).collect(),
            s21: two_ports.iter().map(|two_port| two_port.s21).collect(),
            s22: two_ports.iter().map(|two_port| narrowed(two_port.s22)).collect(),
        }
    }
}

fn widened(s: Complex32) -> Complex64 {
    Complex64::new(s.re.into(), s.im.into())
}

/// Reflections are kept in single precision.
#[expect(clippy::cast_possible_truncation, reason = "reflections are kept in single precision")]
fn narrowed(s: Complex64) -> Complex32 {
    Complex32::new(s.re as f32, s.im as f32)
}

fn parameters_of(network: &Network) -> Parameters {
    let points = 0..network.frequency_hz.len();
    let exact = |row, column| points.clone().map(|index| network.s(index, row, column)).collect();
    let single = |port| points.clone().map(|index| narrowed(network.s(index, port, port))).collect();
    Parameters { s11: single(1), s12: exact(1, 2), s21: exact(2, 1), s22: single(2) }
}

fn reference_ohm_of(network: &Network) -> [f64; 2] {
    let at = |port: usize| network.reference_ohm.get(port).copied();
    let input = at(0).unwrap_or(50.0);
    [input, at(1).unwrap_or(input)]
}

/// What is told of a network, the path through it left open.
pub fn facts_of(network: &Network) -> FileFacts {
    let largest = |row, column| {
        let squared = (0..network.frequency_hz.len()).map(|index| network.s(index, row, column).norm_sqr());
        squared.fold(0.0, f64::max).sqrt()
    };
    FileFacts {
        ports: network.ports,
        path: None,
        reference_ohm: reference_ohm_of(network),
        largest_turn_deg: if network.ports >= 2 { largest_turn_deg(network) } else { 0.0 },
        one_path: network.is_one_path(),
        largest_s11: largest(1, 1),
        largest_s22: if network.ports >= 2 { largest(2, 2) } else { 0.0 },
        noise_rows: network.noise_rows,
        settings_in_comments: settings_in_comments(&network.comments),
        warnings: network.warnings.iter().map(|warning| (warning.line, warning.message.clone())).collect(),
        frequency_hz: network.frequency_hz.clone(),
    }
}

/// The largest turn of S21 between neighbouring frequencies, in degrees.
fn largest_turn_deg(network: &Network) -> f64 {
    let s21 = |index| network.s(index, 2, 1);
    let cosine = |(here, next): (Complex64, Complex64)| {
        let product = next * here.conj();
        // A transmission of zero has no phase and turns nothing.
        let size = (here.norm_sqr() * next.norm_sqr()).sqrt();
        if size > 0.0 { product.re / size } else { 1.0 }
    };
    let pairs = (1..network.frequency_hz.len()).map(|index| (s21(index - 1), s21(index)));
    pairs.map(cosine).fold(1.0, f64::min).clamp(-1.0, 1.0).acos().to_degrees()
}

/// The comments that may hold the state's setting. They stand at the head of a file and are short; what is not is
/// no setting, and thousands of files' comments would add up.
fn settings_in_comments(comments: &[String]) -> Vec<String> {
    const MOST: usize = 32;
    const LONGEST: usize = 120;
    let short = comments.iter().filter(|line| line.len() <= LONGEST && naming::looks_like_setting(line));
    short.take(MOST).cloned().collect()
}

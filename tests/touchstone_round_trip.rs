//! What is written reads back: to the bit in real and imaginary parts, to 1e-12 in the other formats. The networks
//! come from a seeded generator, so that a failure can be repeated.

use num_complex::Complex64;
use sweepfold::touchstone::{Digits, FrequencyUnit, Network, NumberFormat, WriteOptions, read, write};

const UNITS: [FrequencyUnit; 4] =
    [FrequencyUnit::Hertz, FrequencyUnit::Kilohertz, FrequencyUnit::Megahertz, FrequencyUnit::Gigahertz];
const FORMATS: [NumberFormat; 3] =
    [NumberFormat::RealImaginary, NumberFormat::MagnitudeAngle, NumberFormat::DecibelAngle];

/// Xorshift with a multiplier (Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled").
struct Generator(u64);

impl Generator {
    fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// Uniform in [0, 1).
    fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A magnitude from about 1e-9 to 10, either sign.
    fn part(&mut self) -> f64 {
        let size = 10_f64.powf(10.0 * self.uniform() - 9.0);
        if self.bits() & 1 == 0 { size } else { -size }
    }

    fn network(&mut self, ports: usize, points: usize) -> Network {
        let mut frequency = self.uniform() * 1e6;
        let frequency_hz = (0..points)
            .map(|_| {
                frequency += self.uniform() * 1e8 + 1.0;
                frequency
            })
            .collect();
        let s = (0..points * ports * ports).map(|_| Complex64::new(self.part(), self.part())).collect();
        let same = self.uniform() < 0.5;
        let reference_ohm =
            (0..ports).map(|_| if same { 50.0 } else { 1.0 + 100.0 * self.uniform() }).collect();
        let comments = vec!["made up".to_owned(), "µ ° ! second mark".to_owned()];
        Network { ports, reference_ohm, frequency_hz, s, comments, noise_rows: 0, warnings: vec![] }
    }
}

fn names(ports: usize) -> [String; 2] {
    [format!("x.s{ports}p"), "x.ts".to_owned()]
}

#[test]
fn shortest_decimals_read_back() {
    let mut generator = Generator(0x5EED);
    for ports in 1..=7 {
        for points in [1, 2, 17] {
            for unit in UNITS {
                for format in FORMATS {
                    let network = generator.network(ports, points);
                    let options = WriteOptions { unit, format, digits: Digits::Shortest };
                    let text = write(&network, &options);
                    for name in names(ports) {
                        let back = read(&name, &text).unwrap_or_else(|error| panic!("{error}"));
                        assert_eq!(back.frequency_hz, network.frequency_hz, "to the bit in {unit:?}");
                        assert_eq!(back.reference_ohm, network.reference_ohm);
                        assert_eq!(back.comments, network.comments);
                        if format == NumberFormat::RealImaginary {
                            assert_eq!(back, network, "to the bit");
                        }
                        for (found, wanted) in back.s.iter().zip(&network.s) {
                            assert!((found - wanted).norm() <= 1e-12 * wanted.norm(), "{found} {wanted}");
                        }
                        assert_eq!(back.s.len(), network.s.len());
                    }
                }
            }
        }
    }
}

#[test]
fn fixed_digits_read_back_within_half_of_the_last() {
    let mut generator = Generator(7);
    for digits in [1_u8, 4, 9, 12, 17] {
        for unit in UNITS {
            let network = generator.network(2, 20);
            let options = WriteOptions {
                unit,
                format: NumberFormat::RealImaginary,
                digits: Digits::Significant(digits),
            };
            let back = read("x.s2p", &write(&network, &options)).unwrap();
            assert_eq!(back.frequency_hz, network.frequency_hz);
            let limit = 0.5001 * 10_f64.powi(1 - i32::from(digits)) + 1e-15;
            for (found, wanted) in back.s.iter().zip(&network.s) {
                assert!((found.re - wanted.re).abs() <= limit * wanted.re.abs(), "{found} {wanted}");
                assert!((found.im - wanted.im).abs() <= limit * wanted.im.abs(), "{found} {wanted}");
            }
        }
    }
}

/// Zero has no logarithm; it still reads back as zero, so that a one-path measurement stays one.
#[test]
fn zero_reads_back_in_every_format() {
    let mut network = Generator(3).network(2, 3);
    for s in network.s.chunks_exact_mut(4) {
        s[1] = Complex64::ZERO;
        s[3] = Complex64::ZERO;
    }
    assert!(network.is_one_path());
    for format in FORMATS {
        for digits in [Digits::Shortest, Digits::Significant(9)] {
            let options = WriteOptions { format, digits, ..WriteOptions::default() };
            assert!(read("x.s2p", &write(&network, &options)).unwrap().is_one_path());
        }
    }
}

/// The layout of the standard's version 1: 11, 21, 12, 22 for two ports, a line for each row of three.
#[test]
fn what_is_written_looks_as_the_standard_has_it() {
    let s = |values: &[f64]| values.iter().map(|&re| Complex64::new(re, 0.0)).collect();
    let mut network = Network {
        ports: 2,
        reference_ohm: vec![50.0, 50.0],
        frequency_hz: vec![1.5e9],
        s: s(&[0.11, 0.12, 0.21, 0.22]),
        comments: vec!["made up".to_owned()],
        noise_rows: 0,
        warnings: vec![],
    };
    let mut options = WriteOptions { unit: FrequencyUnit::Gigahertz, ..WriteOptions::default() };
    let text =
        |network: &Network, options: &WriteOptions| String::from_utf8(write(network, options)).unwrap();
    assert_eq!(text(&network, &options), "! made up\n# GHz S RI R 50\n1.5 0.11 0 0.21 0 0.12 0 0.22 0\n");
    options.digits = Digits::Significant(3);
    options.unit = FrequencyUnit::Hertz;
    assert_eq!(
        text(&network, &options),
        "! made up\n# Hz S RI R 50\n1500000000 1.10E-01 0.00E+00 2.10E-01 0.00E+00 1.20E-01 0.00E+00 2.20E-01 0.00E+00\n"
    );
    network.ports = 3;
    network.reference_ohm = vec![50.0, 75.0, 25.0];
    network.s = s(&[11.0, 12.0, 13.0, 21.0, 22.0, 23.0, 31.0, 32.0, 33.0]);
    options.digits = Digits::Shortest;
    assert_eq!(
        text(&network, &options),
        "! made up\n# Hz S RI R 50 75 25\n1500000000 11 0 12 0 13 0\n 21 0 22 0 23 0\n 31 0 32 0 33 0\n"
    );
}

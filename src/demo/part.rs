//! A made-up part over its sweep, ready to write the file of any word.

use super::noise::Noise;
use super::plan::{PartPlan, PlanError, Section};
use super::section::Point;
use crate::control::Word;
use crate::network::{TwoPort, cascade};
use num_complex::Complex64;
use std::io::Write as _;

/// A made-up part.
///
/// The chain is cut in the middle, and both halves are worked out once for every setting of their own bits. A word
/// then costs one cascade per frequency: 128 half chains serve 4,096 words.
#[derive(Clone, Debug)]
pub struct Part {
    plan: PartPlan,
    /// The frequencies as the files write them.
    frequency_digits: Vec<String>,
    front: Half,
    back: Half,
    /// Root mean square of the noise at each frequency, linear.
    noise: Vec<f64>,
}

/// Half of the chain in all its settings.
#[derive(Clone, Debug)]
struct Half {
    /// The word's bits that work this half, the section nearest port 1 first.
    bits: Vec<u8>,
    /// `settings[k]` holds the two-ports at every frequency with bit i of `k` as the state of section i.
    settings: Vec<Vec<TwoPort>>,
}

impl Part {
    /// Works a plan out over its sweep.
    pub fn new(plan: PartPlan) -> Result<Self, PlanError> {
        plan.check()?;
        Ok(Self::of(plan))
    }

    /// The same for a plan that is known to be sound.
    pub(super) fn of(plan: PartPlan) -> Self {
        let frequencies_hz = plan.sweep.frequencies_hz();
        let points: Vec<Point> = frequencies_hz
            .iter()
            .map(|&frequency_hz| Point {
                ratio: frequency_hz as f64 / plan.middle_hz as f64,
                reference_ohm: plan.reference_ohm,
            })
            .collect();
        let (front, back) = plan.sections.split_at(plan.sections.len() / 2);
        let front = Half::of(front, &points);
        let mut back = Half::of(back, &points);
        for setting in &mut back.settings {
            for (two_port, point) in setting.iter_mut().zip(&points) {
                *two_port = cascade(*two_port, point.joint(plan.last_joint));
            }
        }
        let frequency_digits = frequencies_hz.iter().map(|&hz| plan.unit.digits(hz)).collect();
        let mut part = Self { plan, frequency_digits, front, back, noise: Vec::new() };
        let level = 10_f64.powf(part.plan.noise_db / 20.0);
        part.noise = part.two_ports(Word(0)).map(|two_port| level * two_port.s21.norm()).collect();
        part
    }

    /// The plan that it was made of.
    pub fn plan(&self) -> &PartPlan {
        &self.plan
    }

    /// The two-port of a word at every frequency, without noise. Bits that the part does not have are ignored.
    pub fn two_ports(&self, word: Word) -> impl Iterator<Item = TwoPort> {
        let (front, back) = (self.front.at(word), self.back.at(word));
        front.iter().zip(back).map(|(&front, &back)| cascade(front, back))
    }

    /// The name of a word's file.
    pub fn file_name(&self, word: Word) -> String {
        self.plan.file_name(word)
    }

    /// The Touchstone version 1 file of a word, noise included: always the same bytes for the same plan and word.
    pub fn file(&self, word: Word) -> Vec<u8> {
        self.file_of(word, self.two_ports(word))
    }

    /// The file of a word whose sweep saw other two-ports than the word's own, for runs with planted faults.
    pub fn file_of(&self, word: Word, two_ports: impl Iterator<Item = TwoPort>) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(400 + self.noise.len() * 110);
        self.write_header(word, &mut bytes);
        let form = self.plan.form;
        let mut noise = Noise::new(self.plan.seed, word.0);
        let mut noisy = |value: Complex64, level: f64| value + noise.next_complex() * level;
        for ((two_port, digits), &level) in two_ports.zip(&self.frequency_digits).zip(&self.noise) {
            bytes.extend_from_slice(digits.as_bytes());
            // Version 1 two-ports have S21 before S12.
            for value in [two_port.s11, two_port.s21, two_port.s12, two_port.s22] {
                form.write(noisy(value, level), &mut bytes);
            }
            bytes.push(b'\n');
        }
        bytes
    }

    fn write_header(&self, word: Word, bytes: &mut Vec<u8>) {
        let PartPlan { title, unit, form, reference_ohm, .. } = &self.plan;
        // Writing to memory does not fail.
        let _ = write!(
            bytes,
            "! Made-up data, not a measurement: {title}\n! Computed from a chain of {} switched two-ports, with \
             noise\n! Control word {}\n# {} S {} R {reference_ohm}\n",
            self.plan.sections.len(),
            word.0,
            unit.name(),
            form.name()
        );
    }
}

impl Half {
    /// Some sections of the chain in a row.
    fn of(sections: &[Section], points: &[Point]) -> Self {
        let start = Self { bits: Vec::new(), settings: vec![vec![TwoPort::THROUGH; points.len()]] };
        sections.iter().fold(start, |half, section| half.followed_by(section, points))
    }

    fn followed_by(mut self, section: &Section, points: &[Point]) -> Self {
        let with = |set: bool| {
            let ends: Vec<TwoPort> = points.iter().map(|point| point.section(section, set)).collect();
            let joined =
                |setting: &Vec<TwoPort>| setting.iter().zip(&ends).map(|(&a, &b)| cascade(a, b)).collect();
            self.settings.iter().map(joined).collect::<Vec<Vec<TwoPort>>>()
        };
        let mut settings = with(false);
        settings.extend(with(true));
        self.bits.push(section.bit);
        Self { bits: self.bits, settings }
    }

    /// The two-ports of a word's setting of this half.
    fn at(&self, word: Word) -> &[TwoPort] {
        let setting = self
            .bits
            .iter()
            .enumerate()
            .fold(0, |setting, (place, &bit)| setting | ((word.0 >> bit & 1) as usize) << place);
        &self.settings[setting]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::rain_radar;

    /// The halves worked out ahead give what the chain gives section by section.
    #[test]
    fn halves_make_the_whole_chain() {
        let part = Part::of(rain_radar());
        for word in [0, 0x3A7, 0xC58, 0xFFF].map(Word) {
            for (index, two_port) in part.two_ports(word).enumerate() {
                let ratio = (6.0 + 0.05 * index as f64) / 10.0;
                let point = Point { ratio, reference_ohm: 50.0 };
                let chain = part.plan.sections.iter().fold(TwoPort::THROUGH, |chain, section| {
                    cascade(chain, point.section(section, word.0 >> section.bit & 1 == 1))
                });
                let chain = cascade(chain, point.joint(part.plan.last_joint));
                assert!((chain.s21 - two_port.s21).norm() < 1e-12);
                assert!((chain.s11 - two_port.s11).norm() < 1e-12);
                assert!((chain.s22 - two_port.s22).norm() < 1e-12);
            }
        }
    }
}

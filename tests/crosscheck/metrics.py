"""Scores of a run computed a second time, from their definitions, with numpy and scipy.

Shares no code with the product. Conventions: decibels are 20 log10 of a magnitude, gain is positive upwards, phase
differences are wrapped into (-180, 180] degrees, a state's place is its transmission over the reference.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.spatial import cKDTree

SLACK = 1 + 1e-9  # a bound computed onto the limit counts as inside
TIE = 1e-12  # two squared distances that agree to this part of the larger are equal


def wrap(angle_deg):
    return angle_deg - 360.0 * np.ceil((angle_deg - 180.0) / 360.0)


def decibels(magnitude):
    return 20.0 * np.log10(magnitude)


class Layout:
    """Fields of bits; nominal gain and phase of every word."""

    def __init__(self, fields):
        self.fields = fields
        self.bits = sum(len(field["bits"]) for field in fields)

    @staticmethod
    def of_json(value):
        return Layout([{key: field[key] for key in ("quantity", "bits", "step", "direction")} for field in value["fields"]])

    def __eq__(self, other):
        return self.fields == other.fields

    def code(self, field, word):
        on = [((word >> bit["position"]) & 1) ^ int(bit["inverted"]) for bit in field["bits"]]
        return sum(value << weight for weight, value in enumerate(on))

    def value(self, field, code):
        return (1 if field["direction"] == "up" else -1) * field["step"] * code

    def nominal(self, word, quantity):
        return sum(self.value(f, self.code(f, word)) for f in self.fields if f["quantity"] == quantity)

    def one(self, quantity):
        """The only field of a quantity, or None; several are beyond this check."""
        found = [field for field in self.fields if field["quantity"] == quantity]
        if len(found) > 1:
            raise ValueError(f"more than one {quantity} field")
        return found[0] if found else None

    def word(self, codes):
        """The word in which each field has the code given for its quantity."""
        word = 0
        for field in self.fields:
            for weight, bit in enumerate(field["bits"]):
                on = (codes.get(field["quantity"], 0) >> weight) & 1
                word |= (on ^ int(bit["inverted"])) << bit["position"]
        return word

    def settings(self):
        """(gain, phase, nominal word) of every nominal setting."""
        def codes(quantity):
            field = self.one(quantity)
            return range(1 << len(field["bits"])) if field else [0]

        found = []
        for gain_code, phase_code in product(codes("gain"), codes("phase")):
            word = self.word({"gain": gain_code, "phase": phase_code})
            found.append((self.nominal(word, "gain"), self.nominal(word, "phase"), word))
        return found


@dataclass
class Run:
    """Transmission of every state: transmission[frequency, state], states ascending by word."""

    frequency_hz: np.ndarray
    words: np.ndarray
    transmission: np.ndarray

    def __post_init__(self):
        self.states = {int(word): state for state, word in enumerate(self.words)}

    def state(self, word):
        return self.states.get(int(word))


class Metrics:
    def __init__(self, run, layout, tolerance):
        self.run, self.layout, self.tolerance = run, layout, tolerance
        settings = layout.settings()
        self.gain_db = np.array([s[0] for s in settings])
        self.phase_deg = np.array([s[1] for s in settings])
        self.nominal_word = np.array([s[2] for s in settings])
        self.target = 10 ** (self.gain_db / 20) * np.exp(1j * np.deg2rad(self.phase_deg))
        self.nominal_state = np.array([-1 if run.state(w) is None else run.state(w) for w in self.nominal_word])
        self.ring = [i for i, w in enumerate(run.words) if abs(layout.nominal(int(w), "gain")) < 1e-9]
        self.zero = run.state(layout.word({}))

    def references(self, policy, centre):
        """R at every frequency."""
        transmission = self.run.transmission
        if policy == "zero_word":
            return transmission[:, self.zero]
        if policy == "ring_median":
            return self.ring_median(centre)
        if policy == "ring_median_each_frequency":
            return np.array([self.ring_median(index)[index] for index in range(len(transmission))])
        if policy == "full_ring":
            smallest = np.abs(transmission[:, self.ring]).min(axis=1)
            return smallest * np.exp(1j * np.angle(transmission[:, self.zero]))
        raise ValueError(f"unknown reference {policy}")

    def ring_median(self, centre):
        """The reference of the word that is the ring's median at one frequency, at every frequency."""
        transmission = self.run.transmission
        order = sorted(self.ring, key=lambda i: (abs(transmission[centre, i]), self.run.words[i]))
        middle = order[(len(order) - 1) // 2]
        nominal = self.layout.nominal(int(self.run.words[middle]), "phase")
        return transmission[:, middle] * np.exp(-1j * np.deg2rad(nominal))

    def best_for(self, index, states):
        """The reference that makes the RMS relative vector error of a mapping smallest at one frequency."""
        transmission = self.run.transmission[index][states]
        weight = 1 / np.abs(self.target) ** 2
        inverse = np.sum(weight * self.target * transmission.conj()) / np.sum(weight * np.abs(transmission) ** 2)
        return 1 / inverse

    def gain_given_up_db(self, references):
        return decibels(np.abs(references) / np.abs(self.run.transmission[:, self.zero]))

    def choose(self, relative):
        """The nearest state for each target, ties settled by looking at every state."""
        plane = np.column_stack([relative.real, relative.imag])
        wanted = np.column_stack([self.target.real, self.target.imag])
        distance, state = cKDTree(plane).query(wanted, k=2 if len(relative) > 1 else 1)
        if len(relative) == 1:
            return np.zeros(len(self.target), dtype=int)
        chosen = state[:, 0].copy()
        for t in np.flatnonzero(distance[:, 1] <= distance[:, 0] * (1 + 1e-9) + 1e-15):
            squared = np.abs(relative - self.target[t]) ** 2
            tied = np.flatnonzero(squared - squared.min() <= TIE * squared)
            nominal = int(self.nominal_word[t])
            chosen[t] = min(tied, key=lambda i: (bin(int(self.run.words[i]) ^ nominal).count("1"), self.run.words[i]))
        return chosen

    def errors(self, relative, states):
        """Gain error dB, phase error deg, relative vector error in percent of every target; NaN where unserved."""
        served = np.where(states >= 0, relative[states], np.nan)
        gain = decibels(np.abs(served)) - self.gain_db
        phase = wrap(np.rad2deg(np.angle(served)) - self.phase_deg)
        vector = 100 * np.abs(served - self.target) / np.abs(self.target)
        return gain, phase, vector

    def score(self, relative, states):
        gain, phase, vector = self.errors(relative, states)
        limit = self.tolerance["gain_db"] + self.tolerance["gain_pct_of_setting"] / 100 * np.abs(self.gain_db)
        within_gain = np.abs(gain) <= limit * SLACK
        within_phase = np.abs(phase) <= self.tolerance["phase_deg"] * SLACK
        rms = lambda error: float(np.sqrt(np.nanmean(error**2)))
        share = lambda inside: float(100 * np.count_nonzero(inside) / len(inside))
        return {
            "rms_gain_error_db": rms(gain),
            "rms_phase_error_deg": rms(phase),
            "rms_vector_error_pct": rms(vector),
            "within_gain_pct": share(within_gain),
            "within_phase_pct": share(within_phase),
            "within_both_pct": share(within_gain & within_phase),
        }

    def swept(self, relative, quantity):
        """Relative gains of all codes of a quantity's field, the other at code 0; None without the field or a state."""
        field = self.layout.one(quantity)
        if not field:
            return None
        states = [self.run.state(self.layout.word({quantity: code})) for code in range(1 << len(field["bits"]))]
        return None if None in states else relative[states]

    def effective_bits(self, relative):
        """(gain, phase) effective bits; None where they cannot be told."""
        gain = phase = None
        swept = self.swept(relative, "phase")
        if swept is not None:
            angle = np.sort(np.mod(np.rad2deg(np.angle(swept)), 360))
            gaps = np.append(np.diff(angle), 360 - angle[-1] + angle[0])
            phase = float(np.log2(360 / np.sqrt(np.sum(gaps**3) / 360)))
        swept = self.swept(relative, "gain")
        if swept is not None:
            step, span = self.layout.one("gain")["step"], len(swept) * self.layout.one("gain")["step"]
            high = self.gain_db.max() + step / 2
            sigma = np.sqrt(mean_square_distance(np.sort(decibels(np.abs(swept))), high - span, high))
            gain = max(0.0, float(np.log2(span / (np.sqrt(12) * sigma))))
        return gain, phase


def mean_square_distance(value, low, high):
    """Mean over low..high of the squared distance to the nearest of the sorted values.

    Between the points where the nearest changes it is a parabola, for which Simpson's rule is exact. Where the values
    lie inside the span it must be the closed form (sum of gap^3 + 4 sum of end distance^3) / (12 span).
    """
    edges = np.unique(np.clip([low, *(value[1:] + value[:-1]) / 2, high], low, high))
    distance = lambda x: np.min((x[:, None] - value) ** 2, axis=1)
    left, right = edges[:-1], edges[1:]
    parts = (distance(left) + 4 * distance((left + right) / 2) + distance(right)) / 6
    found = np.sum(parts * (right - left)) / (high - low)
    if low <= value[0] and value[-1] <= high:
        ends = np.array([value[0] - low, high - value[-1]])
        closed = (np.sum(np.diff(value) ** 3) + 4 * np.sum(ends**3)) / (12 * (high - low))
        if abs(found - closed) > 1e-12 * closed:
            raise ArithmeticError("the two forms disagree")
    return found


def over_band(scores):
    """A band's score: RMS of RMS values, mean of shares."""
    found = {}
    for name in scores[0]:
        values = np.array([score[name] for score in scores])
        found[name] = float(np.sqrt(np.mean(values**2)) if name.startswith("rms") else np.mean(values))
    return found

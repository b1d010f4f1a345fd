"""Compares the product's exports with the same numbers computed a second time.

compare.py STATES EXPORTS LAYOUT [--pattern REGEX] [--base 16] [--every-frequency]

STATES   folder of the Touchstone files, all of them states
EXPORTS  folder with per-frequency.csv, word-table.csv and summary.json as the page saved them
LAYOUT   JSON of the layout with which the files were made, in the form of settings.json

Scores, references and effective bits must agree to a relative 1e-9; words must be equal, but where two states are
equally far within rounding either is accepted, counted and named.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

from files import iterate_csv, read_csv, read_json, read_run
from metrics import Layout, Metrics, over_band

RELATIVE = 1e-9
FLOOR = 1e-12  # below this an error is rounding: an ideal state's 0 dB or 0 degrees
MAPPINGS = ("nominal", "chosen", "held")


class Comparison:
    def __init__(self):
        self.compared, self.differences, self.ties, self.largest = {}, [], [], 0.0

    def number(self, kind, where, theirs, ours):
        self.compared[kind] = self.compared.get(kind, 0) + 1
        theirs = float("nan") if theirs in ("", None) else float(theirs)
        ours = float("nan") if ours is None else float(ours)
        if np.isnan(theirs) and np.isnan(ours):
            return
        off = abs(theirs - ours) / max(abs(theirs), abs(ours), FLOOR / RELATIVE)
        if not off <= RELATIVE:
            self.differences.append(f"{kind}, {where}: {theirs!r}, recomputed {ours!r}")
        else:
            self.largest = max(self.largest, off)

    def numbers(self, kind, where, theirs, ours):
        """Arrays of numbers at once, so that millions take seconds."""
        off = np.abs(theirs - ours) / np.maximum(np.maximum(np.abs(theirs), np.abs(ours)), FLOOR / RELATIVE)
        self.compared[kind] = self.compared.get(kind, 0) + len(theirs)
        for t in np.flatnonzero(~(off <= RELATIVE)):
            self.differences.append(f"{kind}, {where}, target {t}: {theirs[t]!r}, recomputed {ours[t]!r}")
        self.largest = max([self.largest, *off[off <= RELATIVE]])

    def same(self, kind, where, theirs, ours):
        self.compared[kind] = self.compared.get(kind, 0) + 1
        if theirs != ours:
            self.differences.append(f"{kind}, {where}: {theirs}, recomputed {ours}")

    def report(self):
        print(", ".join(f"{kind} {count}" for kind, count in sorted(self.compared.items())))
        print(f"largest relative difference of an accepted number: {self.largest:.1e}")
        print(f"words that differ where two states are equally far: {len(self.ties)}")
        for line in self.ties[:20]:
            print(f"  {line}")
        for line in self.differences[:20]:
            print(f"DIFFERS {line}")
        if len(self.differences) > 20:
            print(f"… and {len(self.differences) - 20} more differences")


def compare(states, exports, layout, pattern=r"_0x([0-9A-Fa-f]+)\.s2p$", base=16, every_frequency=False):
    exports, check = Path(exports), Comparison()
    summary = read_json(exports / "summary.json")
    settings = summary["settings"]
    layout = Layout.of_json(layout)
    check.same("layout", "summary.json", Layout.of_json(summary["layout"]).fields, layout.fields)
    row, column = (2, 1) if settings["transmission"] == "S21" else (1, 2)
    run = read_run(states, pattern, base, row, column)
    metrics = Metrics(run, layout, settings["tolerance"] or half_steps(layout))

    low, high = settings["design_band_hz"] or (run.frequency_hz[0], run.frequency_hz[-1])
    band = np.flatnonzero((run.frequency_hz >= low) & (run.frequency_hz <= high))
    centre = nearest(run.frequency_hz, band, (low + high) / 2)
    at = centre if settings["frequency_hz"] is None else nearest(run.frequency_hz, None, settings["frequency_hz"])
    named_hz = summary["scores"]["at_frequency"]["frequency_hz"]
    check.number("chosen frequency", "summary.json", named_hz, run.frequency_hz[at])

    theirs = words_by_frequency(exports / "word-table.csv", run, metrics)
    expected = set(range(len(run.frequency_hz))) if every_frequency else {at}
    check.same("frequencies in word-table.csv", "missing", sorted(expected - set(theirs)), [])
    chosen = choose_all(check, metrics, settings["reference"], centre, theirs)
    compare_frequencies(check, metrics, exports / "per-frequency.csv", settings["reference"], centre, at, chosen)
    compare_table_errors(check, metrics, settings["reference"], centre, theirs)
    compare_summary(check, metrics, summary, settings["reference"], centre, at, band, chosen)
    return check


def half_steps(layout):
    step = {q: [f["step"] for f in layout.fields if f["quantity"] == q] for q in ("gain", "phase")}
    if not step["gain"] or not step["phase"]:
        raise ValueError("the layout has one quantity only: set the tolerances in the settings")
    return {"gain_db": min(step["gain"]) / 2, "gain_pct_of_setting": 0.0, "phase_deg": min(step["phase"]) / 2}


def nearest(frequency_hz, among, wanted):
    among = np.arange(len(frequency_hz)) if among is None else among
    return int(among[np.argmin(np.abs(frequency_hz[among] - wanted))])  # argmin takes the lower of two


COLUMNS = ("nominal_word", "chosen_word", "gain_error_db", "phase_error_deg", "vector_error_pct")


def words_by_frequency(path, run, metrics):
    """word-table.csv as {frequency index: one row of COLUMNS per target, in the order of metrics}."""
    target = {(g, p): t for t, (g, p) in enumerate(zip(metrics.gain_db, metrics.phase_deg))}
    found = {}
    for row in iterate_csv(path):
        hertz = float(row["frequency_hz"])
        rows = found.setdefault(hertz, np.full((len(target), len(COLUMNS)), np.nan))
        t = target.get((float(row["target_gain_db"]), float(row["target_phase_deg"])))
        if t is None or not np.isnan(rows[t, 0]):
            raise ValueError(f"word-table.csv has an unknown or repeated target: {row}")
        rows[t] = [float(row[column]) for column in COLUMNS]
    by_index = {nearest(run.frequency_hz, None, hertz): (hertz, rows) for hertz, rows in found.items()}
    for index, (hertz, _) in by_index.items():
        if abs(run.frequency_hz[index] / hertz - 1) > 1e-12:
            raise ValueError(f"word-table.csv names {hertz} Hz, which is not in the grid")
    return {index: rows for index, (_, rows) in by_index.items()}


def choose_all(check, metrics, policy, centre, theirs):
    """Chosen states at every frequency. Where the product took another that is equally far, its own is used on."""
    references, all_chosen = metrics.references(policy, centre), []
    for index, reference in enumerate(references):
        relative = metrics.run.transmission[index] / reference
        chosen = metrics.choose(relative)
        if index in theirs:
            nominal, words = theirs[index][:, 0], theirs[index][:, 1]
            where = f"frequency {index}"
            check.numbers("nominal words", where, nominal, metrics.nominal_word.astype(float))
            for t in np.flatnonzero(words != metrics.run.words[chosen]):
                state = None if np.isnan(words[t]) else metrics.run.state(int(words[t]))
                if state is not None and equally_far(relative, metrics.target[t], state, chosen[t]):
                    check.ties.append(f"{where}, target {t}: {words[t]:.0f}, recomputed {metrics.run.words[chosen[t]]}")
                    chosen[t] = state
            check.numbers("chosen words", where, words, metrics.run.words[chosen].astype(float))
        all_chosen.append(chosen)
    return all_chosen


def equally_far(relative, target, a, b):
    """Whether rounding may decide between two states. Between states that lie on each other the rule for ties does."""
    if relative[a] == relative[b]:
        return False
    far_a, far_b = abs(relative[a] - target), abs(relative[b] - target)
    rounding = 8 * np.finfo(float).eps * max(abs(target), abs(relative[a]), abs(relative[b]))
    return abs(far_a - far_b) <= 1e-12 * max(far_a, far_b) + rounding


def compare_frequencies(check, metrics, path, policy, centre, at, chosen):
    rows, references = read_csv(path), metrics.references(policy, centre)
    given_up = metrics.gain_given_up_db(references)
    check.same("rows of per-frequency.csv", "count", len(rows), len(references))
    for index, row in enumerate(rows[: len(references)]):
        where = f"frequency {index}"
        relative = metrics.run.transmission[index] / references[index]
        check.number("frequencies", where, row["frequency_hz"], metrics.run.frequency_hz[index])
        reference = complex(float(row["reference_re"]), float(row["reference_im"]))
        off = abs(reference - references[index]) / abs(references[index])
        check.number("references", f"{where}: {reference}", 1.0 + off, 1.0)
        check.number("gain given up", where, row["gain_given_up_db"], given_up[index])
        mappings = zip(MAPPINGS, (metrics.nominal_state, chosen[index], chosen[at]))
        for mapping, states in mappings:
            for name, value in metrics.score(relative, states).items():
                check.number(f"{mapping} scores", f"{where}, {name}", row[f"{mapping}_{name}"], value)
        gain_bits, phase_bits = metrics.effective_bits(relative)
        check.number("gain effective bits", where, row["gain_effective_bits"], gain_bits)
        check.number("phase effective bits", where, row["phase_effective_bits"], phase_bits)


def compare_table_errors(check, metrics, policy, centre, theirs):
    references = metrics.references(policy, centre)
    for index, rows in theirs.items():
        relative = metrics.run.transmission[index] / references[index]
        states = np.array([-1 if np.isnan(w) else state_or_none(metrics.run, w) for w in rows[:, 1]])
        for column, values in enumerate(metrics.errors(relative, states), start=2):
            where = f"frequency {index}, {COLUMNS[column]}"
            check.numbers("errors in word-table.csv", where, rows[:, column], values)


def state_or_none(run, word):
    state = run.state(int(word))
    return -1 if state is None else state


def compare_summary(check, metrics, summary, policy, centre, at, band, chosen):
    def scores(policy, mapping):
        references = metrics.references(policy, centre)
        found, words = [], None
        relative = [metrics.run.transmission[i] / r for i, r in enumerate(references)]
        for index in band if at in band else [*band, at]:
            if mapping == "nominal":
                words = metrics.nominal_state
            elif policy == summary["settings"]["reference"]:
                words = chosen[at if mapping == "held" else index]
            else:
                words = metrics.choose(relative[at if mapping == "held" else index])
            found.append(metrics.score(relative[index], words))
        own = found[list(band).index(at)] if at in band else found.pop()
        return own, found, float(metrics.gain_given_up_db(references)[at])

    for mapping in MAPPINGS:
        own, found, _ = scores(policy, mapping)
        here = summary["scores"]["at_frequency"][mapping]
        over = summary["scores"]["design_band"][mapping]
        compare_band(check, f"summary {mapping}", metrics, band, own, found, here, over)
    check.same("ladder", "has steps", bool(summary["ladder"]), True)
    for rung in summary["ladder"]:
        name = f"ladder {rung['mapping']} {rung['reference']}"
        if rung["reference"].startswith("best_fit"):
            compare_fit(check, name, metrics, band, at, centre, rung, summary["ladder"])
            continue
        own, found, given_up = scores(rung["reference"], rung["mapping"])
        check.number("ladder", f"{name}, gain given up", rung["gain_given_up_db"], given_up)
        compare_band(check, name, metrics, band, own, found, rung["at_frequency"], rung["design_band"])


def compare_fit(check, name, metrics, band, at, centre, rung, ladder):
    """A reference that was searched for: what it scores where its value is told, that it is the best for the states that it
    leads to, and that it is no worse than what it set out from."""
    divisor = complex(*rung["divisor"])
    states = metrics.choose(metrics.run.transmission[at] / divisor)
    own = metrics.score(metrics.run.transmission[at] / divisor, states)
    for score, value in own.items():
        check.number("ladder", f"{name}, {score} at the frequency", rung["at_frequency"][score], value)
    given_up = float(20 * np.log10(abs(divisor) / abs(metrics.run.transmission[at, metrics.zero])))
    check.number("ladder", f"{name}, gain given up", rung["gain_given_up_db"], given_up)
    error = lambda step: step["design_band"]["rms_vector_error_pct"]
    others = {step["reference"]: error(step) for step in ladder if step["mapping"] == "chosen"}
    if rung["reference"] == "best_fit_one_turn":
        ring = metrics.ring_median(centre)
        relative = metrics.run.transmission / (ring * (divisor / ring[at]))[:, None]
        found = [metrics.score(relative[index], metrics.choose(relative[index])) for index in band]
        compare_band(check, name, metrics, band, own, found, rung["at_frequency"], rung["design_band"])
        check.same("ladder", f"{name} is no worse than the ring median", error(rung) <= others["ring_median"] * (1 + 1e-9), True)
    else:
        best = metrics.best_for(at, states)
        check.number("ladder", f"{name}, real part of the best over it", (best / divisor).real, 1.0)
        check.same("ladder", f"{name} is turned no further", abs((best / divisor).imag) < 1e-9, True)
        # On many targets the search is shortened, and another reference may be better by some parts in ten thousand.
        check.same("ladder", f"{name} is no worse than any", error(rung) <= min(others.values()) * 1.002, True)


def compare_band(check, name, metrics, band, own, found, here, over):
    number = lambda where, theirs, ours: check.number(name.split()[0], f"{name}, {where}", theirs, ours)
    for score, value in own.items():
        number(f"{score} at the frequency", here[score], value)
    for score, value in over_band(found).items():
        number(f"{score} over the band", over[score], value)
    worst = max(score["rms_vector_error_pct"] for score in found)
    least = min(score["within_both_pct"] for score in found)
    number("worst vector error", over["worst_vector_error_pct"], worst)
    number("worst share", over["worst_within_both_pct"], least)
    hertz = [metrics.run.frequency_hz[index] for index in band]
    least_at = hertz[[score["within_both_pct"] for score in found].index(least)]
    worst_at = hertz[[score["rms_vector_error_pct"] for score in found].index(worst)]
    number("frequency of the worst share", over["worst_within_both_hz"], least_at)
    number("frequency of the worst error", over["worst_vector_error_hz"], worst_at)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("states")
    parser.add_argument("exports")
    parser.add_argument("layout")
    parser.add_argument("--pattern", default=r"_0x([0-9A-Fa-f]+)\.s2p$")
    parser.add_argument("--base", type=int, default=16)
    parser.add_argument("--every-frequency", action="store_true")
    given = parser.parse_args()
    layout = read_json(given.layout)
    check = compare(given.states, given.exports, layout, given.pattern, given.base, given.every_frequency)
    check.report()
    sys.exit(1 if check.differences else 0)


if __name__ == "__main__":
    main()

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

from files import read_csv, read_json, read_run
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


def words_by_frequency(path, run, metrics):
    """Rows of word-table.csv: {frequency index: {target index: row}}."""
    target = {(g, p): t for t, (g, p) in enumerate(zip(metrics.gain_db, metrics.phase_deg))}
    found = {}
    for row in read_csv(path):
        index = nearest(run.frequency_hz, None, float(row["frequency_hz"]))
        if abs(run.frequency_hz[index] / float(row["frequency_hz"]) - 1) > 1e-12:
            raise ValueError(f"word-table.csv names {row['frequency_hz']} Hz, which is not in the grid")
        t = target.get((float(row["target_gain_db"]), float(row["target_phase_deg"])))
        if t is None or t in found.setdefault(index, {}):
            raise ValueError(f"word-table.csv has an unknown or repeated target: {row}")
        found[index][t] = row
    return found


def choose_all(check, metrics, policy, centre, theirs):
    """Chosen states at every frequency. Where the product took another that is equally far, its own is used on."""
    references, all_chosen = metrics.references(policy, centre), []
    for index, reference in enumerate(references):
        relative = metrics.run.transmission[index] / reference
        chosen = metrics.choose(relative)
        rows = theirs.get(index, {})
        if rows:
            check.same("targets in word-table.csv", f"frequency {index}", len(rows), len(metrics.target))
        for t, row in rows.items():
            where = f"frequency {index}, {row['target_gain_db']} dB {row['target_phase_deg']}°"
            check.same("nominal words", where, int(row["nominal_word"]), int(metrics.nominal_word[t]))
            word, ours = int(row["chosen_word"]), int(metrics.run.words[chosen[t]])
            state = metrics.run.state(word)
            if word == ours or state is None or not equally_far(relative, metrics.target[t], state, chosen[t]):
                check.same("chosen words", where, word, ours)
            else:
                check.same("chosen words", where, word, word)
                check.ties.append(f"{where}: {word}, recomputed {ours}")
                chosen[t] = state
        all_chosen.append(chosen)
    return all_chosen


def equally_far(relative, target, a, b):
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
        states = np.full(len(metrics.target), -1)
        for t, row in rows.items():
            state = metrics.run.state(int(row["chosen_word"]))
            states[t] = -1 if state is None else state
        errors = metrics.errors(relative, states)
        for t, row in rows.items():
            where = f"frequency {index}, target {t}"
            for name, values in zip(("gain_error_db", "phase_error_deg", "vector_error_pct"), errors):
                check.number("errors in word-table.csv", f"{where}, {name}", row[name], values[t])


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
        own, found, given_up = scores(rung["reference"], rung["mapping"])
        check.number("ladder", f"{name}, gain given up", rung["gain_given_up_db"], given_up)
        compare_band(check, name, metrics, band, own, found, rung["at_frequency"], rung["design_band"])


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

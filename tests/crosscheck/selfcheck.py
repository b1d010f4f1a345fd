"""Proves that the comparison holds for a sound run and fails for every kind of damage.

selfcheck.py DUMP NATIVE FOLDER: makes a small part's files in FOLDER, lets the product's own code export its numbers,
compares, then damages one thing at a time and demands that the comparison says so.
"""

import csv
import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np

import compare as comparison
from files import read_json
from reading import compare_reading, read_dump

BITS = 8
FREQUENCY_HZ = np.linspace(8e9, 12e9, 7)
LAYOUT = {
    "fields": [
        {"quantity": "phase", "bits": [{"position": p, "inverted": p == 1} for p in (4, 1, 2, 7, 0)], "step": 11.25, "direction": "down"},
        {"quantity": "gain", "bits": [{"position": p, "inverted": False} for p in (3, 6, 5)], "step": 1.0, "direction": "down"},
    ]
}
SETTINGS = [
    {"reference": "zero_word"},
    {"reference": "ring_median", "frequency_hz": 9.1e9, "transmission": "S12"},
    {"reference": "full_ring", "design_band_hz": [8.5e9, 11e9], "tolerance": {"gain_db": 0.3, "gain_pct_of_setting": 3.0, "phase_deg": 4.0}},
]


def make_files(folder, idle_bits=0):
    """A part whose bits err and interact; S12 and the matches differ from S21 so that no parameter passes for another.

    Bits of `idle_bits` do nothing, so that states lie on each other and the rule for ties decides.
    """
    folder.mkdir(parents=True)
    noise = np.random.default_rng(20)
    x = np.linspace(-1, 1, len(FREQUENCY_HZ))
    ideal = np.ones(BITS, dtype=complex)
    for field in LAYOUT["fields"]:
        for weight, bit in enumerate(field["bits"]):
            amount = -field["step"] * 2**weight
            ideal[bit["position"]] = 10 ** (amount / 20) if field["quantity"] == "gain" else np.exp(1j * np.deg2rad(amount))
    off = noise.normal(size=(BITS, 2)) * 0.05
    for word in range(1 << BITS):
        s21 = 0.3 * np.exp(-1j * (40 + 9 * x))
        for field in LAYOUT["fields"]:
            for bit in field["bits"]:
                b = bit["position"]
                if ((word >> b) & 1) ^ int(bit["inverted"]) and not (idle_bits >> b) & 1:
                    s21 = s21 * ideal[b] * np.exp((off[b, 0] + 1j * off[b, 1]) * (1 + x))
        own = np.random.default_rng(word & ~idle_bits)
        s21 = s21 * np.exp(0.01 * (own.normal(size=len(x)) + 1j * own.normal(size=len(x))))
        s12 = s21 * np.exp(0.03j + 0.01 * np.cos(word))
        match = 0.1 * np.exp(1j * (word + x))
        form = 0 if idle_bits else word % 3  # other formats would move states apart by rounding
        write_file(folder / f"part_0x{word:03X}.s2p", ("RI", "MA", "DB")[form], [match, s21, s12, -match])


def write_file(path, form, columns):
    """One file with all digits; names that end in an odd digit have hertz, the others gigahertz."""
    unit = "Hz" if int(path.stem[-1], 16) % 2 else "GHz"

    def pair(value):
        if form == "RI":
            return value.real, value.imag
        size = abs(value) if form == "MA" else 20 * np.log10(abs(value))
        return size, np.rad2deg(np.angle(value))
    lines = ["! made up, not measured", f"# {unit} S {form} R 50"]
    for f, hertz in enumerate(FREQUENCY_HZ):
        cells = [hertz / 1e9 if unit == "GHz" else hertz] + [cell for column in columns for cell in pair(column[f])]
        lines.append(" ".join(repr(float(cell)) for cell in cells))
    path.write_text("\n".join(lines) + "\n")


def edit_csv(path, row, column, change):
    with open(path, newline="") as file:
        rows = list(csv.DictReader(file))
    rows[row][column] = change(rows[row][column])
    with open(path, "w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def edit_json(path, keys, change):
    value = here = read_json(path)
    for key in keys[:-1]:
        here = here[key]
    here[keys[-1]] = change(here[keys[-1]])
    path.write_text(json.dumps(value))


def scaled(value):
    return repr(float(value) * (1 + 3e-9))


def damages():
    """(what, the file, how it is damaged); each alone must be found."""
    per_frequency = [(f"{m}_{s}", "per-frequency.csv") for m in comparison.MAPPINGS for s in (
        "rms_gain_error_db", "rms_phase_error_deg", "rms_vector_error_pct", "within_gain_pct", "within_phase_pct", "within_both_pct")]
    per_frequency += [(name, "per-frequency.csv") for name in (
        "frequency_hz", "reference_re", "reference_im", "gain_effective_bits", "phase_effective_bits")]
    errors = [(name, "word-table.csv") for name in ("gain_error_db", "phase_error_deg", "vector_error_pct")]
    for column, name in per_frequency + errors:
        row = 3 if name == "per-frequency.csv" else 900
        yield f"{column} of {name} 3e-9 too large", lambda folder, n=name, r=row, c=column: edit_csv(folder / n, r, c, scaled)
    word = lambda cell: str(int(cell) ^ 1)
    yield "another chosen word", lambda folder: edit_csv(folder / "word-table.csv", 700, "chosen_word", word)
    yield "another nominal word", lambda folder: edit_csv(folder / "word-table.csv", 3, "nominal_word", word)
    band = ("scores", "design_band", "held")
    yield "a band's share", lambda folder: edit_json(folder / "summary.json", (*band, "within_both_pct"), lambda v: v + 1e-6)
    yield "a band's worst frequency", lambda folder: edit_json(folder / "summary.json", (*band, "worst_vector_error_hz"), lambda v: v + 1e9)
    for step in range(6):
        keys = ("ladder", step, "design_band", "rms_vector_error_pct")
        yield f"step {step} of the ladder", lambda folder, k=keys: edit_json(folder / "summary.json", k, lambda v: v * (1 + 3e-9))
    keys = ("ladder", 2, "gain_given_up_db")
    yield "gain given up", lambda folder: edit_json(folder / "summary.json", keys, lambda v: v + 1e-8)
    yield "the layout", lambda folder: edit_json(folder / "summary.json", ("layout", "fields", 0, "direction"), lambda v: "up")


def check_comparison(native, folder):
    states, layout = folder / "states", folder / "layout.json"
    failures = 0
    runs = [(states, settings) for settings in SETTINGS] + [(folder / "tied", SETTINGS[0])]
    for number, (states, settings) in enumerate(runs):
        exports = folder / f"exports-{number}"
        (folder / "settings.json").write_text(json.dumps(settings))
        subprocess.run([native, states, layout, folder / "settings.json", exports], check=True)
        check = comparison.compare(states, exports, LAYOUT, every_frequency=True)
        print(f"— the native exports of {states.name} with {json.dumps(settings)}")
        check.report()
        failures += len(check.differences) + len(check.ties)
    twin = lambda cell: str(int(cell) ^ 0b0001_0000)
    cases = [("states", 0, what, damage) for what, damage in damages()]
    twin_taken = lambda folder: edit_csv(folder / "word-table.csv", 700, "chosen_word", twin)
    cases.append(("tied", 3, "another word of equal states", twin_taken))
    for states, number, what, damage in cases:
        states, broken = folder / states, folder / "broken"
        shutil.rmtree(broken, ignore_errors=True)
        shutil.copytree(folder / f"exports-{number}", broken)
        damage(broken)
        found = comparison.compare(states, broken, LAYOUT, every_frequency=True).differences
        print(f"damaged: {what}: {'found' if found else 'NOT FOUND'}")
        failures += not found
    return failures


def check_reading(dump, folder):
    paths = sorted((folder / "states").iterdir())
    found = read_dump(dump, paths)
    differences, values = compare_reading(found, paths)
    print(f"— reading: {values} values of {len(paths)} files compared with scikit-rf")
    for line in differences:
        print(f"DIFFERS {line}")
    found[str(paths[5])][1][2][3] += 1e-11
    broken, _ = compare_reading(found, paths)
    print(f"damaged: one value read 1e-11 too large: {'found' if len(broken) == 1 else 'NOT FOUND'}")
    return len(differences) + (len(broken) != 1)


def main():
    dump, native, folder = sys.argv[1], sys.argv[2], Path(sys.argv[3])
    shutil.rmtree(folder, ignore_errors=True)
    make_files(folder / "states")
    make_files(folder / "tied", idle_bits=0b0101_0000)
    (folder / "layout.json").write_text(json.dumps(LAYOUT))
    failures = check_reading(dump, folder) + check_comparison(native, folder)
    print("self-check " + ("failed" if failures else "passed"))
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()

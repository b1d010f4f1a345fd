"""Resolution maps and constellations a second time, from their definitions, with numpy and scipy.

    constellations.py CROSSCHECK_SIGNAL FOLDER

CROSSCHECK_SIGNAL is the example program of that name. It makes up parts and writes their states with its results to
FOLDER/signal.json. Then one result at a time is damaged, which has to be noticed.
"""

import copy
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize
from scipy.spatial import cKDTree

SLACK = 1 + 1e-9


def plane(values):
    return np.column_stack([values.real, values.imag])


def square_qam(order):
    side = int(np.sqrt(order))
    level = np.arange(1 - side, side, 2)
    points = (level[None, :] + 1j * level[:, None]).ravel()
    return points / np.abs(points).max()


def map_differs(part, relative):
    gain_db, phase_deg = 20 * np.log10(np.abs(relative)), np.rad2deg(np.angle(relative))
    bits = {"phase": part["phase"]["bits"], "gain": part["gain"]["bits"]}
    clean = []
    for p in range(bits["phase"] + 1):
        for q in range(bits["gain"] + 1):
            gain_step = part["gain"]["step_db"] * 2 ** (bits["gain"] - q)
            gains, phases = -gain_step * np.arange(2**q), 360 / 2**p * np.arange(2**p)
            off = np.abs((phase_deg[:, None] - phases + 180) % 360 - 180) <= 180 / 2**p * SLACK
            near = np.abs(gain_db[:, None] - gains) <= gain_step / 2 * SLACK
            served = (off.T.astype(int) @ near.astype(int)) > 0
            if abs(100 * served.mean() - part["yield_pct"][p][q]) > 1e-9:
                yield f"yield of {p} + {q} bits: {100 * served.mean()}, not {part['yield_pct'][p][q]}"
            if served.all():
                clean.append((p + q, p, q))
    expected = list(max(clean)[1:]) if clean else None
    if expected != part["clean_bits"]:
        yield f"clean bits: {expected}, not {part['clean_bits']}"


def error_at(scale, points, tree, states):
    ideal = scale * points
    return np.linalg.norm(states[tree.query(plane(ideal))[1]] - ideal) / np.linalg.norm(ideal)


def constellation_differs(one, states, ring):
    points = square_qam(one["order"])
    tree = cKDTree(plane(states))
    scale = complex(*one["scale"])
    ideal = scale * points
    chosen = tree.query(plane(ideal))[1]
    if list(chosen) != one["states"]:
        yield f"{one['order']}: other states"
    error = np.sqrt(np.sum(np.abs(states[chosen] - ideal) ** 2))
    for name, norm in (("evm", np.linalg.norm(ideal)), ("evm_of_peak", np.sqrt(len(ideal)) * np.abs(ideal).max())):
        if abs(error / norm - one[name]) > 1e-12 + 1e-9 * one[name]:
            yield f"{one['order']}: {name} {error / norm}, not {one[name]}"
    corner_gain_db = 20 * np.log10(np.abs(ideal).max() / ring)
    if abs(corner_gain_db - one["corner_gain_db"]) > 1e-9 or not -12 - 1e-9 <= corner_gain_db <= 1e-9:
        yield f"{one['order']}: corner {corner_gain_db} dB"
    sharing = int(np.sum(np.bincount(chosen, minlength=len(states))[chosen] > 1))
    misread = int(np.sum(cKDTree(plane(ideal)).query(plane(states[chosen]))[1] != np.arange(len(ideal))))
    if (sharing, misread, sharing + misread == 0) != (one["sharing"], one["misread"], one["clean"]):
        yield f"{one['order']}: sharing {sharing}, misread {misread}"


def searched(one, states, ring):
    """The smallest error that a simplex search finds from a grid of its own over the corner's gain and the turn."""
    points, tree = square_qam(one["order"]), cKDTree(plane(states))
    scale = lambda at: ring * 10 ** (np.clip(at[0], -12, 0) / 20) * np.exp(1j * at[1])
    error = lambda at: error_at(scale(at), points, tree, states)
    grid = [(gain, turn) for gain in np.arange(-12, 0.01, 0.3) for turn in np.arange(0, np.pi / 2, 0.03)]
    starts = sorted(grid, key=error)[:12]
    return min(minimize(error, start, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-12}).fun for start in starts)


def differences(part):
    states = np.array([complex(*state) for state in part["states"]])
    ring = np.abs(states[: 2 ** part["phase"]["bits"]]).min()
    reference = complex(*part["reference"])
    if abs(abs(reference) / ring - 1) > 1e-12 or abs(np.angle(reference / states[0])) > 1e-12:
        yield "the reference"
    yield from map_differs(part, states / reference)
    for one in part["constellations"]:
        yield from constellation_differs(one, states, ring)


def damages():
    def at(*keys):
        def damage(part, change):
            for key in keys[:-1]:
                part = part[key]
            part[keys[-1]] = change(part[keys[-1]])
        return damage
    yield "a yield", at("yield_pct", 2, 1), lambda value: value - 1e-3
    yield "clean bits", at("clean_bits"), lambda value: [value[0], value[1] + 1]
    for name in ("evm", "evm_of_peak", "corner_gain_db"):
        yield name, at("constellations", 3, name), lambda value: value * (1 + 3e-9) - 2e-9
    for name in ("sharing", "misread"):
        yield name, at("constellations", 4, name), lambda value: value + 1
    yield "a state", at("constellations", 2, "states", 5), lambda value: value ^ 1


def main(program, folder):
    path = Path(folder) / "signal.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    subprocess.run([program, str(path)], check=True)
    parts = json.loads(path.read_text())
    failures = [line for part in parts for line in differences(part)]
    for part in parts:
        states = np.array([complex(*state) for state in part["states"]])
        ring = np.abs(states[: 2 ** part["phase"]["bits"]]).min()
        for one in part["constellations"][:3]:
            other = searched(one, states, ring)
            print(f"{len(states)} states, {one['order']} points: {100 * one['evm']:.5f} %, by another search {100 * other:.5f} %")
            if one["evm"] > 1.01 * other:
                failures.append(f"{one['order']}: another search finds {other}")
    for what, damage, change in damages():
        broken = copy.deepcopy(parts[0])
        damage(broken, change)
        if not list(differences(broken)):
            failures.append(f"{what} was damaged and not found")
    for line in failures:
        print(f"DIFFERS {line}")
    count = sum(len(part["constellations"]) for part in parts)
    print(f"{count} constellations and {len(parts)} resolution maps compared with numpy and scipy")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])

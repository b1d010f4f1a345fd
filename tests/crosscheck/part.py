"""Recomputes every figure of a part from its definition with numpy, from files that scikit-rf reads, and compares.

    part.py CROSSCHECK_PART STATES QUANTITY BITS STEP

CROSSCHECK_PART is the example program of that name. Every file of STATES is a state whose word stands before .s2p in
hexadecimal; the word is one field, attenuating or lagging, in even steps.
"""

import re
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

from files import read_network
from metrics import decibels, wrap


def read(states):
    """Frequencies, and S[word, frequency, row, column], words ascending."""
    found = {}
    for path in Path(states).iterdir():
        if match := re.search(r"0x([0-9A-Fa-f]+)\.s2p$", path.name):
            network = read_network(path)
            found[int(match.group(1), 16)] = (network.f, network.s)
    words = sorted(found)
    assert words == list(range(len(words))), "a word is missing"
    return found[0][0], np.array([found[word][1] for word in words])


def shortest_arc(angle_deg):
    """By trying every state as the arc's beginning."""
    return min(np.max(np.mod(angle_deg - start, 360)) for start in angle_deg)


def circular_mean(angle_deg):
    return np.rad2deg(np.angle(np.mean(np.exp(1j * np.deg2rad(angle_deg)))))


def figures(s, frequency_hz, quantity, step):
    """Name of a figure -> one row of values for each frequency."""
    transmission = s[:, :, 1, 0].T
    codes = np.arange(transmission.shape[1])
    own = {"gain": "gain", "phase": "phase"}[quantity]
    other = {"gain": "phase", "phase": "gain"}[quantity]
    delay_ns = -1e9 * np.gradient(np.unwrap(np.angle(transmission[:, 0])), 2 * np.pi * frequency_hz)
    found = defaultdict(list)
    for index, states in enumerate(transmission):
        relative = states / states[0]
        attenuation, lag = -decibels(np.abs(relative)), -np.rad2deg(np.angle(relative))
        if quantity == "gain":
            error = attenuation - codes * step
            cross = wrap(-lag)
        else:
            error = wrap(lag - codes * step)
            cross = -attenuation
        value = codes * step + error
        increment = np.diff(value)
        if quantity == "phase":
            increment = step + wrap(np.append(increment, value[0] + 360 - value[-1]) - step)
        slope, offset = np.polyfit(codes, value, 1)
        end_slope = (value[-1] - value[0]) / codes[-1]
        here = {
            "insertion loss": -decibels(np.abs(states[0])),
            "input return loss": -decibels(np.max(np.abs(s[:, index, 0, 0]))),
            "output return loss": -decibels(np.max(np.abs(s[:, index, 1, 1]))),
            "group delay": delay_ns[index],
            f"{own} state error": error[1:],
            f"{own} bit error": error[[1 << bit for bit in range(int(np.log2(len(codes))))]],
            f"{own} step error": increment - step,
            f"{own} increment": increment,
            f"{own} differential nonlinearity": increment / step - 1,
            f"{own} integral nonlinearity from end codes": ((value - value[0] - end_slope * codes) / end_slope)[1:-1],
            f"{own} integral nonlinearity from least squares": (value - offset - slope * codes) / slope,
            f"{other} over {own} codes": cross[1:],
        }
        rms = lambda x, count=len(codes): np.sqrt(np.sum(np.square(x)) / count)
        if quantity == "gain":
            here |= {
                "rms gain error": rms(error, len(codes) - 1),
                "rms gain error with reference counted": rms(error),
                "rms gain error of voltage ratios": decibels(1 + rms(1 - np.abs(relative) * 10 ** (codes * step / 20))),
                "phase over gain codes peak to peak": shortest_arc(cross),
                "rms phase over gain codes": rms(cross),
                "rms phase over gain codes with reference not counted": rms(cross, len(codes) - 1),
                "rms phase over gain codes from mean": rms(wrap(cross - circular_mean(cross))),
            }
        else:
            centred = wrap(error - circular_mean(error))
            from_mean = lambda power: rms(cross - decibels(np.mean(10 ** (power * cross / 20))) / power)
            here |= {
                "rms phase error": rms(centred),
                "rms phase error with mean kept": rms(error),
                "rms phase error with reference not counted": rms(error, len(codes) - 1),
                "rms phase error as sample deviation": rms(centred, len(codes) - 1),
                "gain over phase codes peak to peak": np.ptp(cross),
                "rms gain over phase codes": np.std(cross),
                "rms gain over phase codes from reference": rms(cross),
                "rms gain over phase codes with reference not counted": rms(cross, len(codes) - 1),
                "rms gain over phase codes from mean of voltage ratios": from_mean(1),
                "rms gain over phase codes from mean of power ratios": from_mean(2),
            }
        for name, values in here.items():
            found[name].append(np.atleast_1d(values))
    return {name: np.array(rows) for name, rows in found.items()}


def main(program, states, quantity, bits, step):
    frequency_hz, s = read(states)
    assert len(s) == 1 << int(bits), len(s)
    command = [program, states, quantity, bits, step]
    told = defaultdict(lambda: defaultdict(list))
    for line in subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines():
        index, name, value = line.split(",")
        told[name][int(index)].append(float(value))
    expected = figures(s, frequency_hz, quantity, float(step))
    assert set(told) == set(expected), set(told) ^ set(expected)
    readings = 0
    for name, rows in expected.items():
        values = np.array([told[name][index] for index in range(len(frequency_hz))])
        assert values.shape == rows.shape, (name, values.shape, rows.shape)
        # Reflections are kept in single precision: 6e-8 of the magnitude is 5e-7 dB.
        tolerance = 1e-6 if "return loss" in name else 1e-9
        worst = np.max(np.abs(values - rows))
        assert worst <= tolerance, f"{name}: off by {worst}"
        readings += values.size
    print(f"{states}: {len(expected)} figures at {len(frequency_hz)} frequencies, {readings} readings agree")


if __name__ == "__main__":
    main(*sys.argv[1:])

"""What scipy's cKDTree and numpy need, in one process, for the states chosen for all targets at all frequencies of the
made-up part and for their scores: choosing.py FOLDER. The trees are built and asked one frequency after the other."""

import sys
import time
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

PHASE_BITS, PHASE_STEP_DEG, GAIN_STEP_DB = 7, 2.8125, 0.5
TOLERANCE_DB, TOLERANCE_DEG = GAIN_STEP_DB / 2, PHASE_STEP_DEG / 2


def transmission(path):
    lines = [line for line in path.read_text().splitlines() if line[:1] not in "!#"]
    columns = np.fromstring("\n".join(lines), sep=" ").reshape(-1, 9)
    return columns[:, 3] + 1j * columns[:, 4]


def score(relative, targets):
    ratio = relative / targets
    gain_db = 20 * np.log10(np.abs(ratio))
    phase_deg = np.degrees(np.angle(ratio))
    vector = np.abs(ratio - 1)
    within_gain, within_phase = np.abs(gain_db) <= TOLERANCE_DB, np.abs(phase_deg) <= TOLERANCE_DEG
    rms = [np.sqrt(np.mean(errors**2)) for errors in (gain_db, phase_deg, vector)]
    return rms + [np.mean(within) for within in (within_gain, within_phase, within_gain & within_phase)]


folder = Path(sys.argv[1])
states = np.array([transmission(path) for path in sorted(folder.glob("*.s2p"))]).T.copy()
words = np.arange(states.shape[1])
phase_code, gain_code = words & ((1 << PHASE_BITS) - 1), words >> PHASE_BITS
targets = 10 ** (-GAIN_STEP_DB * gain_code / 20) * np.exp(-1j * np.radians(PHASE_STEP_DEG * phase_code))
asked = np.column_stack([targets.real, targets.imag])

start = time.perf_counter()
errors = []
for at_frequency in states:
    relative = at_frequency / at_frequency[0]
    _, chosen = cKDTree(np.column_stack([relative.real, relative.imag])).query(asked)
    errors.append((score(relative, targets), score(relative[chosen], targets)))
taken = time.perf_counter() - start
vector_pct = 100 * np.mean([chosen[2] for _, chosen in errors])
print(f"{taken:.3f} s for {len(states)} frequencies; mean RMS vector error of the chosen states {vector_pct:.4f} %")

"""The same nearest-state search by scipy's cKDTree: nearest.py FOLDER, after plane_speed wrote the states there."""

import sys
import time
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

folder = Path(sys.argv[1])
targets = np.fromfile(folder / "targets.bin").reshape(-1, 2)
states = np.fromfile(folder / "states.bin").reshape(-1, len(targets), 2)
start = time.perf_counter()
for at_frequency in states:
    cKDTree(at_frequency).query(targets)
print(f"cKDTree: {time.perf_counter() - start:.3f} s for {len(states)} frequencies")

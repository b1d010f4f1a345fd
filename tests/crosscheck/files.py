"""Reading what the check needs: Touchstone files through scikit-rf, the product's exports through the csv module."""

import csv
import json
import re
import warnings
from pathlib import Path

import numpy as np
import skrf

from metrics import Run


def read_network(path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return skrf.Network(str(path))


def read_run(folder, pattern, base, row, column):
    """All files of a folder whose names match; S(row)(column) is the transmission."""
    found = {}
    for path in sorted(Path(folder).iterdir()):
        match = re.search(pattern, path.name)
        if not match:
            raise ValueError(f"{path.name} does not match the pattern for words")
        word = int(match.group(1), base)
        if word in found:
            raise ValueError(f"word {word} twice")
        network = read_network(path)
        found[word] = (network.f, network.s[:, row - 1, column - 1])
    if not found:
        raise ValueError(f"no files in {folder}")
    words = sorted(found)
    frequency = found[words[0]][0]
    for word in words:
        if not np.allclose(found[word][0], frequency, rtol=1e-12, atol=0):
            raise ValueError(f"word {word} has another grid")
    return Run(frequency, np.array(words), np.column_stack([found[word][1] for word in words]))


def iterate_csv(path):
    with open(path, newline="", encoding="utf-8") as file:
        yield from csv.DictReader(file)


def read_csv(path):
    return list(iterate_csv(path))


def read_json(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)

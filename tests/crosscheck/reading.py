"""Compares the product's reader with scikit-rf, file by file: reading.py DUMP FILE...

DUMP is the program built from dump.rs, which prints each file's frequencies and S-parameters.
Every value must agree to 1e-12 of its magnitude, or of 1 where it is smaller.
"""

import subprocess
import sys

import numpy as np

from files import read_network


def read_dump(dump, paths):
    """{path: (ports, frequencies, s)} as the product reads them."""
    text = subprocess.run([dump], input="\n".join(map(str, paths)), capture_output=True, text=True, check=True).stdout
    found = {}
    for line in text.splitlines():
        if line.startswith("file "):
            ports, path = line.split(" ", 2)[1:]
            rows = found.setdefault(path, (int(ports), []))[1]
        else:
            rows.append([float(cell) for cell in line.split()])
    return found


def compare_reading(found, paths):
    differences, values = [], 0
    for path in paths:
        ports, rows = found[str(path)]
        theirs, network = np.array(rows), read_network(path)
        if network.s.shape != (len(rows), ports, ports):
            differences.append(f"{path}: {len(rows)} rows of {ports} ports, scikit-rf {network.s.shape}")
            continue
        s = (theirs[:, 1::2] + 1j * theirs[:, 2::2]).reshape(network.s.shape)
        off = np.abs(s - network.s) / np.maximum(1, np.abs(network.s))
        off_hz = np.abs(theirs[:, 0] / network.f - 1)
        values += s.size + len(rows)
        if not (off.max() <= 1e-12 and off_hz.max() <= 1e-12):
            differences.append(f"{path}: S off by {off.max():.1e}, frequency by {off_hz.max():.1e}")
    return differences, values


def main():
    dump, paths = sys.argv[1], sys.argv[2:]
    differences, values = compare_reading(read_dump(dump, paths), paths)
    print(f"{values} values of {len(paths)} files compared with scikit-rf")
    for line in differences:
        print(f"DIFFERS {line}")
    sys.exit(1 if differences or not paths else 0)


if __name__ == "__main__":
    main()

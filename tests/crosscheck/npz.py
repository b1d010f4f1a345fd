"""Compares a run.npz with the Touchstone files that it was made of, and has one of numpy's own read back.

    npz.py CROSSCHECK_NPZ STATES FOLDER

CROSSCHECK_NPZ is the example program of that name. It writes FOLDER/run.npz from STATES, which numpy and scikit-rf
read; numpy then saves the same arrays, and the program has to find the same bytes in them.
"""

import ast
import hashlib
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import skrf


def save(path: Path, arrays: dict[str, np.ndarray], compression: int = zipfile.ZIP_STORED) -> None:
    """As numpy.savez does, which itself cannot name an array `file`: that is what it calls its first argument."""
    with zipfile.ZipFile(path, "w", compression) as archive:
        for name, array in arrays.items():
            with archive.open(f"{name}.npy", "w", force_zip64=True) as member:
                np.lib.format.write_array(member, array, allow_pickle=False)


def main(program: str, states: str, folder: str) -> None:
    archive, saved = Path(folder) / "run.npz", Path(folder) / "saved.npz"
    archive.parent.mkdir(parents=True, exist_ok=True)
    subprocess.run([program, "write", states, str(archive)], check=True)
    assert zipfile.ZipFile(archive).testzip() is None, "a member's checksum is wrong"
    run = np.load(archive, allow_pickle=False)
    s, frequency_hz = run["s"], run["frequency_hz"]
    assert (s.dtype, frequency_hz.dtype) == (np.complex128, np.float64)
    assert s.shape == (len(run["word"]), len(frequency_hz), 2, 2), s.shape
    assert (np.diff(run["word"].astype(int)) > 0).all(), "words do not ascend"
    worst = 0.0
    for path, matrix in zip(run["file"], s):
        network = skrf.Network(str(Path(states) / str(path)))
        assert np.allclose(network.f, frequency_hz, rtol=1e-9, atol=0)
        assert network.z0[0, 0] == run["reference_ohm"]
        # Transmissions are exact but for the readers' own rounding; reflections went through single precision.
        for row, column in ((1, 0), (0, 1)):
            assert np.allclose(matrix[:, row, column], network.s[:, row, column], rtol=1e-14, atol=1e-16), path
        for port in (0, 1):
            difference = np.abs(matrix[:, port, port] - network.s[:, port, port])
            worst = max(worst, float(np.max(difference / np.abs(network.s[:, port, port]))))
    assert worst < 2.0**-23, worst
    print(f"{len(s)} words at {len(frequency_hz)} frequencies; reflections within {worst:.1e}")

    # numpy writes heads of its own and 8-byte words.
    arrays = {name: run[name] for name in run.files}
    save(saved, arrays | {"word": arrays["word"].astype(np.int64)})
    told = subprocess.run([program, "read", str(saved)], check=True, capture_output=True, text=True).stdout
    words, frequencies, ohm, *files = told.splitlines()
    assert ast.literal_eval(words) == run["word"].tolist()
    assert ast.literal_eval(frequencies) == frequency_hz.tolist()
    assert float(ohm) == run["reference_ohm"]
    expected = [f"{hashlib.sha256(matrix.tobytes()).hexdigest()} {path}" for path, matrix in zip(run["file"], s)]
    assert files == expected

    # Without what may be left out, through numpy.savez itself.
    np.savez(saved, **{name: run[name] for name in ("s", "frequency_hz", "word")})
    told = subprocess.run([program, "read", str(saved)], check=True, capture_output=True, text=True).stdout
    assert told.splitlines()[2:4] == ["50", f"{expected[0].split()[0]} word {run['word'][0]}"], told

    # Compressed, or in Fortran order, it has to be refused with a reason.
    save(saved, arrays, zipfile.ZIP_DEFLATED)
    refused = subprocess.run([program, "read", str(saved)], capture_output=True, text=True)
    assert refused.returncode != 0 and "Compressed" in refused.stderr, refused.stderr
    save(saved, arrays | {"s": np.asfortranarray(s)})
    refused = subprocess.run([program, "read", str(saved)], capture_output=True, text=True)
    assert refused.returncode != 0 and "Type" in refused.stderr, refused.stderr


if __name__ == "__main__":
    main(*sys.argv[1:])

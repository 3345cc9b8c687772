"""A small job folder as a make would leave it: short programs, given out as the checker says."""

import json

from begun import typed
from chape.pipeline.file import read_request
from chape.pipeline.folder import manifest, sha256, write_folder

#: What the programs cut into, mm.
STOCK = "60x40x12"

#: A slot that is ramped into, and one that is plunged into far too deep without a word of where
#: the cutter stands.
TEXTS = {
    "slot": "G90 G94 G17 G21\nG54\nT1 M6\nS12000 M3\nG0 Z10\nG0 X10 Y20\nG1 Z0.2 F400\n"
    "G1 X30 Z-1 F400\nG1 X10 F600\nG1 X50\nG1 X10 Z-1\nG0 Z10\nM5\nM30\n",
    "plunge": "G90 G94 G17 G21\nG54\nT1 M6\nS12000 M3\nG0 X10 Y20\nG1 Z-14 F600\nM5\nM30\n",
}


def checked(path):
    """Let chape check a program against its stock, as it is typed."""
    return typed("check", path.name, "--stock", STOCK, "--spacing", "1", folder=path.parent)


def leave_job(sheath, scratch):
    """Write the job folder of a sheath; its programs are released as the checker found them."""
    texts = {f"programs/{each}.nc": text.encode() for each, text in TEXTS.items()}
    passed = {}
    for path, text in texts.items():
        program = scratch / path.rpartition("/")[2]
        program.write_bytes(text)
        if checked(program).returncode == 0:
            passed[path] = sha256(text)
    programs = {
        each: {
            "title": each,
            "seconds": 9.0,
            "loads": [{"number": 1}],
            "files": {f"{each}.nc": "-"},
        }
        for each in TEXTS
    }
    figures = {"released": False, "sheath": {"hand": "right"}, "findings": [], "programs": programs}
    outputs = {"figures.json": json.dumps(figures).encode(), **texts}
    inputs = read_request(sheath).inputs.items()
    outputs |= {f"inputs/{each}": content for each, content in inputs}
    record = manifest(sheath.parent.name, sheath.name, outputs, passed)
    write_folder(sheath.parent / "job", {**outputs, "manifest.json": record})
    return passed

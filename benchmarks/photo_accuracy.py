"""How true outlines from photographs are, on drawn photographs of known truth.

Prints for every seeded pose: the knife, how light its blade is, the distance that nineteen of
twenty points keep, the greatest, the errors of scale and length, the uncertainty chape tells, CPU
seconds, and what it remarked; then the same over all points. Light, shadow, lens, pose and noise
are drawn at random, some so that steel and shadow are equally bright.

    python benchmarks/photo_accuracy.py [how many poses]
"""

from __future__ import annotations

import sys
from pathlib import Path
from time import process_time

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from chape.errors import InputError
from chape.knife.from_photo import Setting, measure_picture
from photo_poses import KINDS, apart, posed


def main(count: int) -> None:
    """Measure as many poses as are asked for."""
    everywhere = []
    for seed in range(count):
        pose = posed(seed)
        start = process_time()
        try:
            measured = measure_picture(pose.picture, Setting(pose.thickness, bar=200.0))
        except InputError as error:
            print(f"{seed:4d} refused: {error}")
            continue
        taken = process_time() - start
        found = apart(measured.outline, pose.scene.outline)
        everywhere.append(found.distances)
        print(
            f"{seed:4d} {KINDS[seed % 3]:10s} blade {pose.scene.blade:.2f}  "
            f"95 % {found.most:.3f}  most {found.distances.max():.2f} mm  "
            f"scale {found.scale:+.3%}  length {found.length:+.2f} mm  "
            f"told {measured.uncertainty:.2f} mm  {taken:.1f} s  "
            + ", ".join(remark.code for remark in measured.remarks)
        )
    half, most, nearly_all = np.percentile(np.concatenate(everywhere), [50, 95, 99])
    print(f"all points: half {half:.3f}, 95 % {most:.3f}, 99 % {nearly_all:.3f} mm")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)

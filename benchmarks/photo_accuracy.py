"""How true outlines from photographs are, on drawn photographs of known truth.

Prints for every seeded pose: the knife, how light its blade is, the distance that nineteen of
twenty points keep, the greatest, the errors of scale and length, the uncertainty chape tells, CPU
seconds, and what it remarked; then a table over all of them. Light, shadow, lens, pose, noise and
JPEG are drawn at random, some so that steel and shadow are equally bright. Every fourth says
nothing of its lens.

    python benchmarks/photo_accuracy.py [how many poses] [first seed]

Seeds below 100, 1000 to 1035 and 3000 to 3029 were looked at while the measuring was written.
"""

from __future__ import annotations

import sys
from pathlib import Path
from time import process_time

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from chape.errors import InputError
from chape.knife.from_photo import Setting, measure_picture
from photo_poses import KINDS, Apart, apart, posed


def main(count: int, first: int) -> None:
    """Measure as many poses as are asked for."""
    found, told, taken, noted, refused = [], [], [], [], 0
    for seed in range(first, first + count):
        pose = posed(seed)
        start = process_time()
        try:
            measured = measure_picture(pose.picture, Setting(pose.thickness, bar=200.0))
        except InputError as error:
            print(f"{seed:4d} refused: {error}", flush=True)
            refused += 1
            continue
        taken.append(process_time() - start)
        each = apart(measured.outline, pose.scene.outline)
        found.append(each)
        told.append(measured.uncertainty)
        noted.append(pose.picture.focal_35 is not None)
        print(
            f"{seed:4d} {KINDS[seed % 3]:10s} blade {pose.scene.blade:.2f}  "
            f"95 % {each.most:.3f}  most {each.distances.max():.2f} mm  "
            f"scale {each.scale:+.3%}  length {each.length:+.2f} mm  "
            f"told {measured.uncertainty:.2f} mm  {taken[-1]:.1f} s  "
            + ", ".join(remark.code for remark in measured.remarks),
            flush=True,
        )
    if found:
        _table(found, np.array(told), np.array(taken), np.array(noted), refused)


def _table(
    found: list[Apart], told: np.ndarray, taken: np.ndarray, noted: np.ndarray, refused: int
) -> None:
    """Print what the guide's table holds."""
    everywhere = np.concatenate([each.distances for each in found])
    half, most, nearly_all = np.percentile(everywhere, [50, 95, 99])
    own = np.array([each.most for each in found])
    scale = np.abs([each.scale for each in found])
    length = np.abs([each.length for each in found])
    print(f"poses measured, refused             {len(found)}, {refused}")
    print(f"all points: half, 95 %, 99 %        {half:.3f}, {most:.3f}, {nearly_all:.3f} mm")
    print(f"95 % of a pose: middle, worst pose  {np.median(own):.3f}, {own.max():.3f} mm")
    print(f"poses with 95 % within 0.2 mm       {np.mean(own <= 0.2):.0%}")
    print(f"scale: 95 % of poses, worst pose    {np.percentile(scale, 95):.3%}, {scale.max():.3%}")
    for words, of in (("noted", scale[noted]), ("not noted", scale[~noted])):
        print(f"scale: worst, the lens {words:13s}{of.max(initial=0.0):.3%}")
    print(f"length: 95 % of poses, worst pose   {np.percentile(length, 95):.2f}, "
          f"{length.max():.2f} mm")  # fmt: skip
    print(f"the told error covers 95 % in       {np.mean(own <= told):.0%} of poses")
    print(f"the told error covers the length in {np.mean(length <= told):.0%} of poses")
    print(f"told error: middle                  {np.median(told):.2f} mm")
    print(f"CPU: middle                         {np.median(taken):.1f} s")


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    main(numbers[0] if numbers else 60, numbers[1] if len(numbers) > 1 else 0)

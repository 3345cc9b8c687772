"""Named tolerances, each with its reason. Lengths in mm."""

from __future__ import annotations

#: Two lengths closer than this are the same length: a tenth of the last decimal a program carries.
SAME_LENGTH = 1e-4

#: Outline curves are turned into lines and arcs within this: below what a router holds.
ARC_FIT = 0.01

#: Curves read from drawings are flattened within this before anything is measured on them.
FLATTEN = 0.005

#: Cutter paths follow their surface within this between two programmed points.
CHORD = 0.005

#: Deepest cut into the finished surface that the checker lets pass, measured along the normal.
GOUGE = 0.02

#: Start and end radius of a programmed arc may differ by this (NISTIR 6556, 3.5.3.2).
ARC_RADII = 0.002

#: The folded pattern must close on the mid-plane within this.
FOLD_CLOSURE = 0.05

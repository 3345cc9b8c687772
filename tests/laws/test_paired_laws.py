"""Laws of a sheath of two sheets, whatever is asked of it."""

import numpy as np
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from chape.catalog.read import catalog
from chape.sheath.closed import clearance, edge_points, walls_of
from chape.sheath.design import design_sheath
from chape.sheath.halves import half_pattern, half_surface_of, rows_of
from chape.sheath.model import Clearance, Edging, Eyelets, Hand, HoleUse, ThumbRamp
from chape.tolerances import ARC_FIT
from paired import choices
from specimens import camp_knife, slender_knife

wanted = st.fixed_dictionaries(
    {
        "clearance": st.builds(
            Clearance,
            blade=st.floats(0.3, 1.2),
            side=st.floats(0.8, 2.0),
            spine=st.floats(0.0, 1.0),
            draft=st.floats(5.0, 15.0),
        ),
        "edging": st.builds(Edging, margin=st.floats(1.2, 4.0), tip=st.floats(4.0, 12.0)),
        "eyelets": st.builds(Eyelets, pitch_most=st.floats(28.0, 60.0)),
        "snap_depth": st.sampled_from([0.0, 0.5, 1.2]),
        "thumb_ramp": st.builds(ThumbRamp, height=st.sampled_from([0.0, 4.0])),
    }
)


# A design takes half a second: a failure is shown as it was found, not made smaller.
@settings(
    max_examples=3,
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)
@given(more=wanted, slender=st.booleans())
def test_two_halves_meet_round_the_knife(more, slender):
    knife = slender_knife(0.8) if slender else camp_knife(0.8)
    right, left = (
        design_sheath(knife, choices(hand=hand, **more), catalog())
        for hand in (Hand.RIGHT, Hand.LEFT)
    )
    # The mirror image, piece by piece.
    for one, other in zip(left.pieces, right.pieces, strict=True):
        assert np.array_equal(one.formed.z, other.formed.z[::-1])
        assert np.array_equal(one.pattern.points, other.pattern.mirrored().points)
    front, back = right.pieces
    # Laid together, hole on hole.
    assert [(h.u, h.v, h.diameter) for h in front.holes] == [
        (h.u, -h.v, h.diameter) for h in back.holes
    ]
    margin = right.choices.edging.margin
    for piece in right.pieces:
        rim = piece.pattern.polygon().exterior
        for hole in piece.holes:
            if hole.use is HoleUse.EYELET:
                room = rim.distance(shapely.Point(hole.u, hole.v)) - hole.keep_clear
                assert room > margin - 3 * ARC_FIT
                assert piece.formed.at(np.array([[hole.u, hole.v]]))[0] == 0.0
    for row in rows_of(right, upper=False):
        apart = np.hypot(*np.diff([(hole.u, hole.v) for hole in row], axis=0).T)
        assert apart.max() <= right.choices.eyelets.pitch_most + 2 * ARC_FIT
    # Level all round, up to where the thumb ramp begins.
    start = right.mouth_x - right.choices.thumb_ramp.length - 2 * right.choices.fillet
    for upper in (False, True):
        rim = shapely.get_coordinates(half_pattern(right, upper=upper).exterior.segmentize(1.0))
        z = half_surface_of(right, upper=upper).at(rim[rim[:, 0] < start])
        assert z.max() == 0.0
    # And the edge is never touched, all along the draw.
    walls, points = walls_of(right), edge_points(knife, 3.0)
    least = min(float(clearance(walls, points, draw).min()) for draw in range(0, 140, 10))
    room = right.choices.clearance
    assert least > 0.7 * min(room.blade, room.side)

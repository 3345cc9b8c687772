import numpy as np
import pytest

from chape.errors import CannotMakeError, InputError
from chape.tooling.gauges import make_dummy
from plain_sheath import plain_knife


@pytest.mark.parametrize("edge", [0.6, 1.0, 2.0])
def test_a_dummy_lies_in_the_knife_and_is_blunt(edge):
    knife = plain_knife()
    half = make_dummy(knife, edge).half.z
    assert (half <= knife.half.z).all()
    assert half[half > 0].min() >= edge / 2
    # Nothing that is thick enough is missing.
    assert np.array_equal(half > 0, knife.half.z >= edge / 2)


def test_loose_parts_are_left_out():
    knife = plain_knife()
    half = knife.half.z.copy()
    half[:, 100:104] = 0.0
    broken = type(knife)(
        **{name: getattr(knife, name) for name in knife.__slots__ if name != "half"},
        half=knife.half.with_z(half),
    )
    dummy = make_dummy(broken)
    assert dummy.half.z[:, :100].max() == 0.0
    assert dummy.half.z[:, 104:].max() > 0.0


def test_a_knife_thinner_than_the_dummys_edge_is_refused():
    with pytest.raises(CannotMakeError, match="nowhere as thick"):
        make_dummy(plain_knife(), 40.0)


@pytest.mark.parametrize("edge", [0.0, -1.0, float("nan"), float("inf")])
def test_edges_that_are_no_thickness_are_refused(edge):
    with pytest.raises(InputError, match="no thickness"):
        make_dummy(plain_knife(), edge)

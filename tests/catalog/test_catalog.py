"""The catalogue reads whole, says where each figure comes from, and names what it lacks."""

import pytest

from chape.catalog.hardware import Clip
from chape.catalog.model import Board, Rack, Value
from chape.catalog.read import KINDS, catalog, with_workshop
from chape.errors import InputError


def values(record):
    """Every Value of a record, with its key."""
    return [(key, value) for key, value in record if isinstance(value, Value)]


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_names_its_source(kind):
    for name in catalog().names(kind):
        for key, value in values(catalog().entries[kind][name]):
            assert value.source, (name, key)
            assert value.unit, (name, key)


def test_an_unknown_name_lists_the_known_ones():
    with pytest.raises(InputError, match="belt-loop-2"):
        catalog().clip("belt-loop-9")


def test_a_name_of_another_kind_is_not_found():
    with pytest.raises(InputError):
        catalog().eyelet("belt-loop-2")


def test_the_workshop_adds_and_replaces_entries(tmp_path):
    table = {"title": "Own board", "offset": "G57", "pins": [[5, 5], [295, 5]], "pin_diameter": 5}
    own = with_workshop(
        catalog(), {"boards": {"own": table, "board-300": table}}, tmp_path / "w.toml"
    )
    assert own.board("own").offset == "G57"
    assert own.board("board-300").title == "Own board"
    assert catalog().board("board-300").title != "Own board"
    assert isinstance(own.board("own"), Board)
    assert isinstance(own.clip("belt-loop-2"), Clip)
    assert isinstance(own.rack("rack-6"), Rack)


def test_a_workshop_entry_takes_what_it_leaves_out_from_the_one_it_is_like(tmp_path):
    table = {"like": "acrylic-pvc-2.0", "title": "Own sheet"}
    own = with_workshop(catalog(), {"sheets": {"own": table}}, tmp_path / "w.toml")
    model = catalog().sheet("acrylic-pvc-2.0")
    assert own.sheet("own") == model.model_copy(update={"name": "own", "title": "Own sheet"})
    with pytest.raises(InputError, match="acrylic-pvc-9") as caught:
        with_workshop(
            catalog(), {"sheets": {"own": {"like": "acrylic-pvc-9"}}}, tmp_path / "w.toml"
        )
    assert caught.value.field == "sheets.own.like"


def test_a_workshop_entry_that_is_wrong_names_file_key_and_mend(tmp_path):
    with pytest.raises(InputError) as caught:
        with_workshop(
            catalog(),
            {
                "boards": {
                    "own": {
                        "title": "T",
                        "offset": "G57",
                        "pins": [[5, 5], [9, 9]],
                        "pin_diameter": -1,
                    }
                }
            },
            tmp_path / "workshop.toml",
        )
    text = str(caught.value)
    assert "workshop.toml" in text
    assert "own.pin_diameter" in text
    assert "-1" in text


def test_an_unknown_kind_is_refused(tmp_path):
    with pytest.raises(InputError, match="presses"):
        with_workshop(catalog(), {"presses": {}}, tmp_path / "workshop.toml")


def test_metric_heads_fit_standard_clearance_holes():
    # ISO 273 medium: M6 6.6, M4 4.5; ISO 7380-1 heads 10.5 and 7.6 (from memory).
    assert catalog().screw("screw-m6-button").clearance_hole.value == 6.6
    assert catalog().screw("screw-m4-button").clearance_hole.value == 4.5
    for name in catalog().names("screws"):
        screw = catalog().screw(name)
        assert screw.thread.value < screw.clearance_hole.value < screw.head_diameter.value
        assert screw.insert_hole.value > screw.thread.value

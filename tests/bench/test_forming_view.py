"""What the page shows of heating and cooling, read from a job's figures."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from chape.bench.forming_view import forming_view


def hot(heater: str, ready: float) -> dict[str, Any]:
    """Return a sheet that warms evenly, and is ready after some seconds."""
    seconds = [0.0, ready, 2 * ready]
    return {
        "heater": heater,
        "setting": 177.0,
        "ready": {"value": ready, "spread": 0.4 * ready},
        "limit": None,
        "wanted": 160.0,
        "highest": 200.0,
        "curves": [
            {"title": "hottest face", "seconds": seconds, "celsius": [22.0, 168.0, 177.0]},
            {"title": "coldest plane", "seconds": seconds, "celsius": [22.0, 160.0, 174.0]},
        ],
    }


@pytest.fixture
def figures() -> dict[str, Any]:
    """What figures.json holds of it; that a real one has all this, tests/documents checks."""
    return {
        "sheath": {"gauge": 2.0},
        "forming": {
            "heating": hot("press", 113.0),
            "fold": hot("strip", 41.0),
            "cooling": {
                "first": {"value": 58.0, "spread": 13.0},
                "last": 223.0,
                "shots": 20,
                "stiff": 72.0,
                "mould_face": 98.5,
                "curves": [{"title": "middle", "seconds": [0.0, 58.0], "celsius": [150.0, 72.0]}],
            },
            "vacuum": {"wanted": 81.0, "reached": 95.5, "seconds": None},
            "cycle": {"period": 139.0},
            "drape": {"thinnest": 0.82, "least": 0.73},
            "taught": {},
        },
    }


def test_what_a_page_needs_is_there_and_what_never_happens_is_left_out(figures: Any) -> None:
    view = forming_view(figures)
    assert view.fold is not None
    assert view.heat.curves[1].celsius[1] == view.heat.wanted
    assert view.cool.last == 223
    labels = [each.label for each in view.settings]
    assert "Set the press to" in labels
    assert "On the mould, sheet 20" in labels
    # It never gets too hot by this setting, and the pump never reaches its difference.
    assert not {"Too hot after", "Drawn down in"} & set(labels)
    assert (view.thickness.thinnest, view.thickness.least) == (1.64, 1.46)
    figures["forming"]["fold"] = None
    assert forming_view(figures).fold is None


def test_each_wait_has_a_timer_and_a_setting_with_its_range(figures: Any) -> None:
    view = forming_view(figures)
    assert [(each.title, each.seconds) for each in view.timers] == [
        ("In the press", 113),
        ("On the mould", 58),
        ("Fold, on the strip", 41),
    ]
    told = next(each for each in view.settings if each.label == "In the press")
    assert told.range == pytest.approx((67.8, 158.2))
    assert any("hydrogen chloride" in caution for caution in view.cautions)
    figures["forming"]["heating"]["ready"] = None
    assert forming_view(figures).timers[0].title == "On the mould"


def test_what_trials_taught_goes_before_the_physics(figures: Any) -> None:
    taught = deepcopy(figures)
    taught["forming"]["taught"]["blank"] = {
        "trials": 3, "seconds": 97.4, "ready": [90.0, 101.0], "chance_of_good": 0.9,
        "most_telling": 95.0,
    }  # fmt: skip
    view = forming_view(taught)
    assert view.timers[0].seconds == 97
    assert ("Blank, after 3 of your trials", 97.4, (90.0, 101.0)) in [
        (each.label, each.value, each.range) for each in view.settings
    ]


def test_a_job_of_an_older_form_is_told_apart(figures: Any) -> None:
    old = deepcopy(figures)
    del old["forming"]["heating"]["curves"]
    with pytest.raises(KeyError, match="curves"):
        forming_view(old)

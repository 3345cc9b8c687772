from chape.bench.what_changed import what_changed


def test_what_changed_is_told_in_the_words_of_the_form():
    old = {"sheath": {"clearance": {"side": 1.2}, "hand": "right"}, "fit": {"hold": 30}}
    new = {"sheath": {"clearance": {"side": 1.5}, "hand": "left", "tip_pads": {}}}
    assert what_changed("sheath", old, new) == (
        "room beside the edge: 1.2 to 1.5 mm; hand it is for: right to left; tip pads: added; "
        "and 1 more"
    )
    assert what_changed("sheath", old, old) == "nothing changed"
    taken = {"fit": {"hold": None}}
    assert what_changed("sheath", {"fit": {"hold": 30}}, taken) == "hold: taken out"
    assert what_changed("knife", {"blade": {}}, {"blade": {"bevel_angle": 17}}) == (
        "angle of the edge's bevel: 17°"
    )


def test_a_row_is_told_by_its_number():
    old = {"sheath": {"clips": [{"clip": "a", "along": 0.1}, {"clip": "b", "along": 0.2}]}}
    new = {"sheath": {"clips": [{"clip": "a", "along": 0.1}, {"clip": "b", "along": 0.35}]}}
    told = "clip 2, place on the line of eyelets: 0.2 to 0.35"
    assert what_changed("sheath", old, new) == told
    fewer = {"sheath": {"clips": [{"clip": "a", "along": 0.1}]}}
    assert what_changed("sheath", old, fewer) == "clips: changed"
    rows = ({"handle": {"thickness": [[90, 12]]}}, {"handle": {"thickness": [[90, 13]]}})
    assert what_changed("knife", *rows) == "thickness along the handle: changed"

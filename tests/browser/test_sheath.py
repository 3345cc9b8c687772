"""From an empty shelf to a sheath that is dragged, made, proved and taken to the machine."""

import re

import pytest

NUMBER = re.compile(r"-?\d+(\.\d+)?")


@pytest.fixture(scope="module")
def bench(browser, serve, tmp_path_factory):
    del browser  # nothing is made where there is none
    return serve(tmp_path_factory.mktemp("sheath"))


def reading(page, label):
    """Return the figure that stands under a label, once the newest design is shown."""
    page.locator(".sheath-readings[data-behind=false]").wait_for()
    words = page.locator("div", has=page.locator(f"dt:text-is('{label}')")).last.inner_text()
    return float(NUMBER.search(words.removeprefix(label))[0])


def grip(page, label):
    return page.get_by_role("button", name=re.compile(rf"^{label}: "))


def test_a_knife_comes_on_the_shelf_and_a_sheath_is_begun_for_it(bench, visit, look):
    page = visit(bench.address)
    page.get_by_text("The shelf is empty").wait_for()
    look(page)
    page.get_by_role("button", name="Example").click()
    page.get_by_role("button", name="A camp knife with a guard").click()
    page.get_by_role("button", name="Begin a sheath").click()
    page.get_by_label("Call it").fill("First sheath")
    page.get_by_role("button", name="Begin the sheath").click()
    page.get_by_role("heading", name="First sheath").wait_for()
    assert reading(page, "Length") > 100
    look(page)


def test_the_mouth_is_dragged_and_its_figure_follows(bench, visit, look):
    page = visit(f"{bench.address}/#/sheath/first-sheath")
    before = reading(page, "Length")
    mouth = grip(page, "Mouth")
    box = mouth.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y, steps=5)
    look(page)
    page.mouse.up()
    page.get_by_text("Saved", exact=True).wait_for()
    dragged = reading(page, "Length")
    assert dragged > before + 2

    mouth.focus()
    page.keyboard.press("Shift+ArrowLeft")
    page.get_by_text("Saved", exact=True).wait_for()
    assert reading(page, "Length") == pytest.approx(dragged - 1, abs=0.11)
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Saved", exact=True).wait_for()
    assert reading(page, "Length") == pytest.approx(before, abs=0.11)


def test_a_hole_is_dragged(bench, visit, look):
    page = visit(f"{bench.address}/#/sheath/first-sheath")
    reading(page, "Length")
    holes = page.locator("[data-hole] .hole-rim")
    before = [hole.get_attribute("cx") for hole in holes.all()]
    clip = grip(page, "flat-clip-2")
    box = clip.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 40, y, steps=4)
    page.mouse.up()
    page.get_by_text("Saved", exact=True).wait_for()
    reading(page, "Length")
    assert [hole.get_attribute("cx") for hole in holes.all()] != before
    look(page)

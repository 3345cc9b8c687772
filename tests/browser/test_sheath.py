"""From an empty shelf to a dragged sheath and a checked program; and through a lost line."""

import io
import re
import tomllib
import zipfile

import httpx2
import pytest

from begun import SHEATH, WORKSHOP, begun, typed
from chape.documents.outline_drawing import outline_svg
from ready_job import TEXTS, checked, leave_job
from specimens import camp_knife

#: On a fresh install kernels are compiled on the way, and a busy machine takes its time, ms.
PATIENCE, COMPILING, MAKING = 40_000, 240_000, 600_000

expect = pytest.importorskip(
    "playwright.sync_api", reason="Playwright is not installed, so no browser can be driven"
).expect
expect.set_options(timeout=PATIENCE)

NUMBER = re.compile(r"-?\d+(\.\d+)?")


@pytest.fixture(scope="module")
def bench(browser, serve, tmp_path_factory):
    del browser  # nothing is made where there is none
    return serve(tmp_path_factory.mktemp("sheath"))


def reading(page, label):
    """Return the figure that stands under a label, once the newest design is shown."""
    page.locator(".sheath-readings:not([aria-busy=true])").wait_for(timeout=COMPILING)
    words = page.locator("div", has=page.locator(f"dt:text-is('{label}')")).last.inner_text()
    return float(NUMBER.search(words.removeprefix(label))[0])


def taken(page, link, folder):
    """Take a file that a link leads to."""
    with page.expect_download() as taking:
        link.click()
    path = folder / taking.value.suggested_filename
    taking.value.save_as(path)
    return path


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
    mouth = grip(page, "Mouth, reach over the handle")
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


def test_an_eyelet_is_held_where_it_is_put_and_given_back(bench, visit, look):
    page = visit(f"{bench.address}/#/sheath/first-sheath")
    reading(page, "Length")
    eyelet = grip(page, "Eyelet").nth(1)
    box = eyelet.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 8, y + 6, steps=4)
    page.mouse.up()
    held = grip(page, "Eyelet, held")
    page.get_by_text("Saved", exact=True).wait_for()
    reading(page, "Length")
    look(page)
    assert held.count() == 1
    text = (bench.folder / "sheaths/first-sheath/sheath.toml").read_text("utf-8")
    assert len(tomllib.loads(text)["sheath"]["eyelets"]["at"]) == 1
    page.get_by_role("button", name="Let chape place it again").click()
    page.get_by_text("Saved", exact=True).wait_for()
    reading(page, "Length")
    assert held.count() == 0


def test_every_station_fits_a_phone(bench, visit, look):
    page = visit(f"{bench.address}/#/sheath/first-sheath", width=390, height=844, has_touch=True)
    page.get_by_role("heading", name="First sheath").wait_for()
    wide = []
    for station in ("Knives", "Sheath", "Tools", "Cut", "Heat", "Day"):
        page.get_by_role("link", name=station, exact=True).tap()
        page.locator(f".bench[data-station={station.lower()}] h1").first.wait_for()
        page.wait_for_timeout(300)
        if page.evaluate("document.documentElement.scrollWidth") > 390:
            wide.append(station)
        look(page)
    assert wide == []


def test_making_it_can_be_stopped_and_leaves_nothing_half_made(bench, visit, look):
    page = visit(f"{bench.address}/#/sheath/first-sheath")
    page.get_by_role("button", name="Make it").click()
    page.get_by_role("button", name="Stop making it").wait_for()
    look(page)
    page.get_by_role("button", name="Stop making it").click()
    page.get_by_role("button", name="Make it").wait_for()
    page.locator(".ticket-state", has_text="not made").wait_for()
    left = {path.name for path in (bench.folder / "sheaths/first-sheath").iterdir()}
    assert left == {"sheath.toml"}


def test_a_proved_program_is_taken_to_the_machine_and_another_kept_back(
    bench, visit, look, tmp_path
):
    sheath = bench.folder / "sheaths/first-sheath/sheath.toml"
    assert list(leave_job(sheath, tmp_path)) == ["programs/slot.nc"]
    page = visit(f"{bench.address}/#/cut/first-sheath")
    page.get_by_role("button", name=re.compile("^slot.*Proved")).click()
    program = taken(page, page.get_by_role("link", name="Take slot.nc"), tmp_path / "taken")
    look(page)
    done = checked(program)
    assert done.returncode == 0, done.stdout
    assert TEXTS["slot"] == program.read_text()
    page.get_by_role("button", name=re.compile("^plunge.*Kept back")).click()
    page.get_by_text("Its text is kept back").wait_for()
    assert page.get_by_role("link", name="Take plunge.nc").count() == 0
    look(page)
    job = f"{bench.address}/api/sheaths/first-sheath/job"
    assert httpx2.get(f"{job}/file/programs/plunge.nc").status_code == 403
    with zipfile.ZipFile(io.BytesIO(httpx2.get(f"{job}.zip").content)) as package:
        inside = {name.rpartition("/")[2] for name in package.namelist()}
    assert "slot.nc" in inside
    assert "plunge.nc" not in inside


def test_what_is_changed_while_the_line_is_lost_goes_out_when_it_is_back(bench, visit, look):
    knife = httpx2.get(f"{bench.address}/api/knives/camp-knife").json()
    page = visit(f"{bench.address}/#/knives/camp-knife")
    point = page.get_by_role("button", name=re.compile("Station 9, spine side"))
    point.wait_for()
    httpx2.post(f"{bench.address}/api/sheaths/first-sheath/make")
    page.get_by_role("button", name="Stop it").wait_for()
    bench.stop()
    point.focus()
    page.keyboard.press("Shift+ArrowUp")
    page.get_by_text("Kept here, goes out when the bench is back").wait_for()
    page.get_by_text("No connection").wait_for()
    look(page)
    bench.start()
    page.get_by_text("Saved", exact=True).wait_for()
    page.get_by_text("No connection").wait_for(state="detached")
    look(page)
    kept = httpx2.get(f"{bench.address}/api/knives/camp-knife").json()
    before, after = (each["tables"]["outline"]["stations"][8][2] for each in (knife, kept))
    assert after == before + 1
    page.get_by_text("It was stopped when the bench was closed").wait_for()
    with page.expect_response("**/seen"):
        page.get_by_role("button", name="Seen").click()
    page.reload()
    point.wait_for()
    assert [each["seen"] for each in httpx2.get(f"{bench.address}/api/works").json()[:1]] == [True]
    assert page.locator(".notice").count() == 0


def test_a_change_kept_in_the_browser_goes_out_when_the_page_is_opened_again(bench, visit):
    page = visit(f"{bench.address}/#/knives/camp-knife")
    within = measured_within(page)
    within.wait_for()
    page.context.set_offline(True)
    within.fill("0.25")
    within.press("Tab")
    page.get_by_text("Kept here, goes out when the bench is back").wait_for()
    context = page.context
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto(f"{bench.address}/#/knives/camp-knife")
    again.get_by_text("Saved", exact=True).wait_for()
    assert within_of(bench, "camp-knife") == 0.25


def test_two_pages_on_one_knife_do_not_fight(bench, visit, look):
    one, other = (visit(f"{bench.address}/#/knives/camp-knife") for _ in range(2))
    measured_within(one).fill("0.3")
    measured_within(one).press("Tab")
    expect(measured_within(other)).to_have_value("0.3")
    other.context.set_offline(True)
    measured_within(other).fill("0.4")
    measured_within(other).press("Tab")
    other.get_by_text("Kept here, goes out").wait_for()
    measured_within(one).fill("0.5")
    measured_within(one).press("Tab")
    one.get_by_text("Saved", exact=True).wait_for()
    other.context.set_offline(False)
    other.get_by_role("heading", name="Two versions of this").wait_for()
    look(other)
    other.get_by_role("button", name="Keep mine").click()
    other.get_by_text("Saved", exact=True).wait_for()
    expect(measured_within(one)).to_have_value("0.4")
    assert within_of(bench, "camp-knife") == 0.4


def measured_within(page):
    return page.get_by_role("textbox", name="Measured within")


def within_of(bench, knife):
    tables = httpx2.get(f"{bench.address}/api/knives/{knife}").json()["tables"]
    return tables["knife"]["uncertainty"]


def test_a_knife_is_begun_by_caliper(bench, visit, look):
    page = visit(bench.address)
    page.get_by_role("button", name="Put a knife on the shelf").click()
    page.get_by_role("button", name="Caliper").click()
    page.get_by_label("Call the knife").fill("Measured one")
    page.get_by_role("button", name="Begin", exact=True).click()
    page.get_by_role("heading", name="Measured one").wait_for()
    point = page.get_by_role("button", name=re.compile("Station 5, spine side"))
    point.focus()
    page.keyboard.press("Shift+ArrowUp")
    page.get_by_text("Saved", exact=True).wait_for()
    look(page)
    kept = httpx2.get(f"{bench.address}/api/knives/measured-one").json()["tables"]
    assert kept["knife"]["source"] == "caliper"


def test_a_knife_comes_from_a_drawing_and_what_is_none_is_refused(bench, visit, look):
    page = visit(bench.address)
    page.get_by_role("button", name="Put a knife on the shelf").click()
    nothing = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": b"no picture of anything"}
    for way, sort in (("Photograph", "photo"), ("Flat-bed scan", "scan"), ("Mesh", "mesh")):
        page.get_by_role("button", name=way).click()
        page.locator(".begin input[type=file]").first.set_input_files(nothing)
        page.get_by_role("button", name="Measure it").click()
        page.get_by_text(f"This is no {sort} that chape can read").wait_for()
    look(page)
    page.get_by_role("button", name="Drawing").click()
    page.get_by_label("Call the knife").fill("Drawn one")
    drawing = outline_svg(camp_knife(0.8).outline, "camp")
    page.locator(".begin input[type=file]").first.set_input_files(
        {"name": "camp.svg", "mimeType": "image/svg+xml", "buffer": drawing}
    )
    page.get_by_role("button", name="Measure it").click()
    page.get_by_role("heading", name="Drawn one").wait_for(timeout=COMPILING)
    look(page)


def test_from_an_empty_shelf_to_a_program_that_is_checked(bench, visit, look, tmp_path):
    """The end of the way: begun on the page, finished by hand in the files, made and taken away."""
    page = visit(f"{bench.address}/#/knives/camp-knife")
    page.get_by_role("button", name="Begin a sheath").click()
    page.get_by_label("Call it").fill("Journey sheath")
    page.get_by_role("button", name="Begin the sheath").click()
    page.get_by_role("heading", name="Journey sheath").wait_for()
    by_hand = begun(tmp_path)
    knife, sheath = bench.folder / "knives/camp-knife", bench.folder / "sheaths/journey-sheath"
    (sheath / "workshop.toml").write_text(WORKSHOP)
    (sheath / "sheath.toml").write_text(
        SHEATH.replace("knife.toml", "../../knives/camp-knife/knife.toml")
    )
    (knife / "knife.toml").write_bytes((by_hand / "knife.toml").read_bytes())
    expect(page.locator(".ticket-state")).to_have_text("not made")

    page.get_by_role("button", name="Make it").click()
    page.get_by_role("button", name="Stop making it").wait_for()
    look(page)
    proved = page.locator(".ticket-state", has_text="made, proved")
    refused = page.locator(".notice.is-failed")
    proved.or_(refused).first.wait_for(timeout=MAKING)
    assert refused.all_inner_texts() == []
    look(page)
    page.get_by_role("link", name="Cut", exact=True).click()
    page.get_by_role("button", name=re.compile(r"^Trim \d")).click(timeout=COMPILING)
    program = taken(page, page.get_by_role("link", name=re.compile(r"Take .*\.nc")).first, tmp_path)
    look(page, full_page=True)
    page.get_by_role("link", name="Tools", exact=True).click()
    whole = taken(page, page.get_by_role("link", name="The whole folder"), tmp_path)
    look(page, full_page=True)
    with zipfile.ZipFile(whole) as package:
        package.extractall(tmp_path / "carried-away")
    (folder,) = (tmp_path / "carried-away").iterdir()
    assert (folder / "programs" / program.name).read_bytes() == program.read_bytes()
    done = typed("check", folder, folder=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "sound" in done.stdout

"""Another device is refused until it is paired; a lost line loses nothing."""

import re

import httpx2
import pytest

#: This machine by an address that is not its own name: to the bench, another device.
OTHER = "127.0.0.2"


@pytest.fixture(scope="module")
def bench(browser, serve, tmp_path_factory):
    del browser  # nothing is made where there is none
    return serve(tmp_path_factory.mktemp("coming-in"), "--lan")


def test_a_device_is_refused_until_it_types_the_code_and_once_it_is_shut_out(bench, visit, look):
    other = f"http://{OTHER}:{bench.port}"
    page = visit(other, width=390, height=844)
    code = bench.line(r"type this code .*: (\d{4} \d{4})")
    wrong = f"{(int(code[0]) + 1) % 10}{code[1:]}"
    assert page.request.get(f"{other}/api/knives").status == 403
    page.get_by_label("Code").fill(wrong)
    page.get_by_role("button", name="Come in").click()
    page.get_by_text("That is not the code").wait_for()
    look(page)
    assert httpx2.get(f"{bench.address}/api/devices").json() == []
    page.wait_for_timeout(1100)
    page.get_by_label("Code").fill(code)
    page.get_by_role("button", name="Come in").click()
    page.get_by_role("heading", name="Knives").wait_for()
    look(page)

    own = visit(f"{bench.address}/#/devices")
    own.get_by_role("button", name="Shut out").click()
    own.get_by_text("No other device").wait_for()
    assert page.request.get(f"{other}/api/knives").status == 403


def test_what_is_changed_while_the_line_is_lost_goes_out_when_it_is_back(bench, visit, look):
    knife = httpx2.post(
        f"{bench.address}/api/knives", json={"name": "camp", "from": "example"}
    ).json()
    assert knife["name"] == "camp"
    page = visit(f"{bench.address}/#/knives/camp")
    point = page.get_by_role("button", name=re.compile("Station 9, spine side"))
    point.wait_for()
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
    kept = httpx2.get(f"{bench.address}/api/knives/camp").json()
    before, after = (each["tables"]["outline"]["stations"][8][2] for each in (knife, kept))
    assert after == before + 1

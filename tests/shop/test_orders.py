"""Orders: entered with numbers of their own, followed piece by piece, in and out as CSV."""

from datetime import date

import pytest
from pydantic import ValidationError

from chape.errors import CannotMakeError, InputError
from chape.shop.model import OrderState, PieceState
from chape.shop.order_file import order_csv, read_order_file
from chape.shop.orders import (
    Wanted,
    cancel_order,
    check_line,
    count_orders,
    find_order,
    find_piece,
    list_orders,
    move_piece,
)
from small_shop import CATALOG, DUE, NOW, enter, order_line, small_shop


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    yield made
    made.close()


def _move(shop, serial, state):
    return shop.change(lambda c: move_piece(c, serial, state))


def test_references_count_up_and_are_never_used_twice(shop):
    first = enter(shop, order_line(), order_line())
    shop.change(lambda c: cancel_order(c, "2026-0002"))
    (third,) = enter(shop, order_line())
    assert [order.reference for order in (*first, third)] == ["2026-0001", "2026-0002", "2026-0003"]


def test_an_order_is_kept_as_it_was_entered(shop):
    line = order_line(quantity=2, hold=30.0, marks="№ 7", clip="flat-clip-2", hand="left")
    (order,) = enter(shop, line)
    assert order.line == line.model_copy(update={"placed": NOW.date()})
    assert [piece.serial for piece in order.pieces] == ["2026-0001-1", "2026-0001-2"]
    assert {piece.state for piece in order.pieces} == {PieceState.WAITING}


def test_a_day_that_is_over_is_refused_unless_the_order_is_an_old_one(shop, tmp_path):
    late = date(2026, 3, 7)
    with pytest.raises(InputError, match="today is 2026-03-07"):
        check_line(order_line(), shop.file, CATALOG, late)
    check_line(order_line(placed=NOW.date()), shop.file, CATALOG, late)
    check_line(order_line(due=late), shop.file, CATALOG, late)
    path = tmp_path / "orders.csv"
    path.write_text(
        "customer,model,sheet,colour,due\nc1,camp,acrylic-pvc-2.0,black,2026-03-06\n"
        "c1,camp,acrylic-pvc-2.0,black,2026-03-07\n"
    )
    rows = read_order_file(path, shop.file, CATALOG, late)
    assert len(rows.good) == 1
    assert [str(error.file) for error in rows.bad] == [f"{path}, line 2"]


def test_lists_show_what_is_due_first_and_count_all_pages(shop):
    enter(shop, order_line(due=date(2026, 4, 1)), order_line(), order_line(customer="c2"))
    listed = shop.read(lambda c: list_orders(c, Wanted(limit=2)))
    assert [order.line.due for order in listed] == [DUE, DUE]
    assert shop.read(lambda c: count_orders(c, Wanted(limit=2))) == 3
    assert shop.read(lambda c: count_orders(c, Wanted(customer="c2"))) == 1
    (last,) = shop.read(lambda c: list_orders(c, Wanted(skip=2)))
    assert last.line.due == date(2026, 4, 1)


@pytest.mark.parametrize(
    "wrong",
    [
        {"quantity": 0},
        {"quantity": 501},
        {"hold": float("nan")},
        {"hold": -3},
        {"hold": 1e9},
        {"due": "20260401"},
        {"due": 1},
        {"customer": ""},
        {"customer": "=SUM(A1)"},
        {"marks": "two\nlines"},
        {"hand": "middle"},
        {"knife": "my own"},
        {"model": None},
        {"placed": "2026-03-07"},
        {"colour": "x" * 61},
    ],
)
def test_an_order_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValidationError):
        order_line(**wrong)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"model": "cmp"}, "model"), ({"sheet": "lead"}, "sheet"), ({"clip": "glue"}, "clip")],
)
def test_names_nobody_knows_are_refused_by_field(shop, wrong, field):
    with pytest.raises(InputError) as caught:
        check_line(order_line(**wrong), shop.file, CATALOG)
    assert caught.value.field == field


def test_a_scrapped_piece_is_replaced_and_the_order_stays_open(shop):
    enter(shop, order_line(quantity=2))
    fresh = _move(shop, "2026-0001-2", PieceState.SCRAPPED)
    assert fresh.serial == "2026-0001-3"
    _move(shop, "2026-0001-1", PieceState.SHIPPED)
    order = shop.read(lambda c: find_order(c, "2026-0001"))
    assert order.state is OrderState.OPEN
    assert len(order.live) == order.line.quantity
    _move(shop, "2026-0001-3", PieceState.SHIPPED)
    order = shop.read(lambda c: find_order(c, "2026-0001"))
    assert order.state is OrderState.SHIPPED


def test_pieces_go_forward_only(shop):
    enter(shop, order_line())
    _move(shop, "2026-0001-1", PieceState.TRIMMED)
    for state in (PieceState.FORMED, PieceState.TRIMMED):
        with pytest.raises(CannotMakeError, match="does not go back"):
            _move(shop, "2026-0001-1", state)
    _move(shop, "2026-0001-1", PieceState.SHIPPED)
    with pytest.raises(CannotMakeError, match="shipped already"):
        _move(shop, "2026-0001-1", PieceState.SCRAPPED)


def test_cancelling_leaves_what_was_shipped(shop):
    enter(shop, order_line(quantity=2))
    _move(shop, "2026-0001-1", PieceState.SHIPPED)
    order = shop.change(lambda c: cancel_order(c, "2026-0001"))
    assert [piece.state for piece in order.pieces] == [PieceState.SHIPPED, PieceState.CANCELLED]
    assert order.state is OrderState.SHIPPED
    with pytest.raises(CannotMakeError, match="is shipped"):
        shop.change(lambda c: cancel_order(c, "2026-0001"))


@pytest.mark.parametrize("serial", ["", "2026-0001", "2026-0001-9", "2026-0001-1-1", "x", "-1"])
def test_a_label_nobody_printed_is_refused(shop, serial):
    enter(shop, order_line())
    with pytest.raises(InputError, match="there is no piece"):
        shop.read(lambda c: find_piece(c, serial))


HEAD = "customer,model,sheet,colour,due,quantity,hold\n"


def _read(shop, tmp_path, text):
    path = tmp_path / "in.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_order_file(path, shop.file, CATALOG)


def test_bad_rows_are_named_by_line_and_good_ones_found(shop, tmp_path):
    text = HEAD + (
        "c1,camp,acrylic-pvc-2.0,black,2026-04-01,2,\n"
        "c2,camp,acrylic-pvc-2.0,black,soon,1,\n"
        "\n"
        "c3,cmp,acrylic-pvc-2.0,black,2026-04-01,1,\n"
        "c4,camp,acrylic-pvc-2.0,black,2026-04-01\n"
        "c5,camp,acrylic-pvc-2.0,black,2026-04-01,,nan\n"
        "c6,slim,acrylic-pvc-2.0,black,2026-04-01,,20.5\n"
    )
    rows = _read(shop, tmp_path, text)
    assert [number for number, _ in rows.good] == [2, 8]
    assert [str(error).split(": ")[0].split("line ")[1] for error in rows.bad] == [
        "3, due", "5, model", "6", "7, hold",
    ]  # fmt: skip
    assert rows.good[1][1].hold == 20.5


def test_semicolons_and_a_byte_order_mark_are_understood(shop, tmp_path):
    text = "\ufeffcustomer;model;sheet;colour;due\nc1;camp;acrylic-pvc-2.0;ash, pale;2026-04-01\n"
    rows = _read(shop, tmp_path, text.replace("\n", "\r\n").replace("ash, pale", "ash"))
    assert rows.bad == ()
    assert rows.good[0][1].customer == "c1"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "names no column"),
        ("customer,model\n", "names no column"),
        (HEAD.replace("hold", "size"), 'column "size"'),
        (HEAD.replace("hold", "due"), "twice"),
        (HEAD.encode("utf-16"), "UTF-8"),
        (HEAD + 'c1,"camp\n', "line"),
    ],
)
def test_a_file_that_is_no_order_file_is_refused(shop, tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        _read(shop, tmp_path, text)


def test_what_goes_out_comes_in_again(shop, tmp_path):
    line = order_line(quantity=2, marks='a "b", c; d', hold=27.5, clip="flat-clip-2")
    orders = enter(shop, line, order_line(model=None, knife="old friend, 24 cm"))
    path = tmp_path / "out.csv"
    path.write_bytes(order_csv(orders))
    rows = read_order_file(path, shop.file, CATALOG)
    assert rows.bad == ()
    assert [each for _, each in rows.good] == [order.line for order in orders]

"""The book of trials: what is written comes back, and nothing is lost."""

import pytest

from chape.errors import InputError, OutputError
from chape.forming.trials import Trial
from chape.pipeline.trial_book import TRIALS, add_trial, read_trials

FIRST = Trial(
    sheet="acrylic-pvc-2.0", gauge=2.03, heater="press", seconds=110, outcome="cold", colour="black"
)
SECOND = Trial(
    sheet="acrylic-pvc-2.0", gauge=2.0, heater="press", setting=180, seconds=130, outcome="good",
    reading=171, note='edge, "left" side', day="2026-03-14",
)  # fmt: skip


def test_trials_come_back_as_they_were_written(tmp_path):
    book = tmp_path / TRIALS
    add_trial(book, FIRST)
    add_trial(book, SECOND)
    assert read_trials(book.read_bytes(), book) == (FIRST, SECOND)
    assert [path.name for path in tmp_path.iterdir()] == [TRIALS]


def test_lines_a_maker_wrote_by_hand_are_kept_and_their_order_of_columns_too(tmp_path):
    book = tmp_path / TRIALS
    text = "heater,sheet,gauge,seconds,outcome\npress,acrylic-pvc-2.0,2,95,cold"
    book.write_text(text)
    with pytest.raises(InputError, match='no column "colour"'):
        add_trial(book, FIRST)
    assert book.read_text() == text
    add_trial(book, FIRST.model_copy(update={"colour": ""}))
    assert book.read_text() == text + "\npress,acrylic-pvc-2.0,2.03,110.0,cold\n"


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("press,acrylic-pvc-2.0,two,95,cold", "line 2.gauge: found 'two'"),
        ("press,acrylic-pvc-2.0,2,95,warm", "'warm'"),
        ("press,acrylic-pvc-2.0,2,-95,cold", "line 2.seconds"),
        ("press,acrylic-pvc-2.0,nan,95,cold", "line 2.gauge"),
        ("press,acrylic-pvc-2.0,2,95,cold,more", "as many fields"),
        ("press", "as many fields"),
    ],
)
def test_a_bad_line_is_named(tmp_path, line, words):
    book = tmp_path / TRIALS
    with pytest.raises(InputError) as caught:
        read_trials(f"heater,sheet,gauge,seconds,outcome\n{line}\n".encode(), book)
    assert words in str(caught.value)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b'heater,sheet\n"open', b"knife,edge\n1,2\n"])
def test_what_is_no_book_is_refused(tmp_path, content):
    with pytest.raises(InputError):
        read_trials(content, tmp_path / TRIALS)


def test_an_empty_book_has_no_trials(tmp_path):
    assert read_trials(b"", tmp_path / TRIALS) == ()


def test_a_folder_that_is_not_there_is_said(tmp_path):
    (tmp_path / "file").write_text("no folder")
    with pytest.raises(OutputError, match="cannot be written"):
        add_trial(tmp_path / "file" / TRIALS, FIRST)

import re

import pytest

from chape.bench.named_values import by_label, label_of, named_values
from chape.bench.problem import problem_of
from chape.errors import CannotMakeError


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        ("Set mouth.wrap to 30 mm or less", "Set “Reach over the handle” to 30 mm or less"),
        ("leave sheath.fold.relief out", "leave “Fold cut away at the mouth” out"),
        ("Give [blank] gap more", "Give “Sheet between outlines” more"),
        ("measure blade.length again", "measure “Length of the blade” again"),
        ("write it in workshop.toml, e.g. below", "write it in workshop.toml, e.g. below"),
        ("pins = [[10, 20]], say", "pins = [[10, 20]], say"),
    ],
)
def test_a_sentence_names_values_as_the_forms_do(sentence, told):
    assert by_label(sentence) == told


def test_a_problem_names_them_so_too():
    told = problem_of(
        CannotMakeError("a fold.relief of 90 mm is too long", mend="Lower fold.relief")
    )
    assert told.sentence == "A “Fold cut away at the mouth” of 90 mm is too long"
    assert told.mend == "Lower “Fold cut away at the mouth”"


def test_every_value_has_words_of_its_own():
    for file in ("knife", "sheath"):
        for key, named in named_values(file).items():
            assert named.label != key.rsplit(".", 1)[-1].replace("_", " "), key
            assert re.match(r"[A-Z]", named.label), key
            assert named.meaning.endswith("."), key
    assert label_of("sheath.clips.*.half") == label_of("sheath.clips.2.half") == "Half it sits on"

"""Work shared among processes comes back, or says why it does not."""

from __future__ import annotations

import os
import time

import pytest

from chape.cutting.dialects import dialect
from chape.errors import CannotMakeError, InputError
from chape.pipeline.keep import Keep
from chape.pipeline.stages import Stages, Task


def run_all(*work):
    tasks = [Task(str(number), "work", make, given) for number, (make, given) in enumerate(work)]
    return Stages(Keep(None), lambda _: None).run_all("work", tasks)


def test_results_come_in_the_order_of_the_tasks():
    assert run_all((max, (1, 2)), (min, (1, 2)), (abs, (-3,))) == [2, 1, 3]


def test_an_error_in_another_process_reaches_the_person_at_once():
    begun = time.monotonic()
    with pytest.raises(InputError, match="unheard-of"):
        run_all((dialect, ("unheard-of",)), (time.sleep, (60,)))
    assert time.monotonic() - begun < 30


def test_a_process_that_dies_does_not_leave_the_others_waiting():
    with pytest.raises(CannotMakeError, match="ended before its time"):
        run_all((os._exit, (9,)), (time.sleep, (60,)))

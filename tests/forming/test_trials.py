"""Trials teach: against invented heaters whose truth the catalogue does not know."""

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.forming.heating import heater_figures, needed, run_heater, sheet_figures
from chape.forming.trials import Outcome, Trial, advise, paced_by, prior
from chape.solve.conduction import first_time

SHEET = catalog().sheet("acrylic-pvc-2.0")
ROOM = 22.0


class Workshop:
    """A heater whose pace is off by a factor, and sheets that answer as they truly would."""

    def __init__(self, heater, factor, rng):
        self.heater, self.rng = heater, rng
        figures = sheet_figures(SHEET) | heater_figures(heater, None)
        middle = {name: value for name, (value, _) in figures.items()}
        middle[paced_by(heater)] *= factor
        self.run = run_heater(heater, middle, ROOM)
        self.wanted, self.limit = needed(SHEET, heater)[0], SHEET.fume_temperature.value

    @property
    def ready(self):
        return first_time(self.run.coldest, self.wanted, 1800.0)

    def heat(self, seconds):
        times = np.array([seconds])
        slips = self.rng.normal(0.0, 3.0, size=2)
        if self.run.hottest(times)[0] > self.limit + slips[0]:
            outcome = Outcome.OVERHEATED
        elif self.run.coldest(times)[0] < self.wanted + slips[1]:
            outcome = Outcome.COLD
        else:
            outcome = Outcome.GOOD
        return Trial(
            sheet=SHEET.name,
            gauge=2.0,
            heater=self.heater.name,
            seconds=seconds,
            outcome=outcome,
        )


def learn(workshop, count):
    trials = []
    for _ in range(count):
        advice = advise(trials, SHEET, workshop.heater, setting=None, room=ROOM)
        trials.append(workshop.heat(advice.telling))
    return advise(trials, SHEET, workshop.heater, setting=None, room=ROOM)


@pytest.mark.parametrize("name", ["press", "strip"])
def test_four_trials_beat_the_bare_physics_on_a_heater_nobody_measured(name):
    heater = catalog().heater(name)
    bare = advise([], SHEET, heater, setting=None, room=ROOM)
    before, after, inside = [], [], []
    for seed, factor in enumerate((0.5, 0.65, 0.8, 1.25, 1.6, 1.9)):
        workshop = Workshop(heater, factor, np.random.default_rng(seed))
        taught = learn(workshop, 4)
        for advice, errors in ((bare, before), (taught, after)):
            middle = np.sqrt(advice.ready_low * advice.ready_high)
            errors.append(abs(np.log(middle / workshop.ready)))
        inside.append(taught.ready_low <= 1.1 * workshop.ready <= 1.2 * taught.ready_high)
    assert np.median(after) < 0.4 * np.median(before)
    assert np.median(after) < 0.12
    assert sum(inside) >= 5


def test_trials_narrow_the_interval():
    heater = catalog().heater("press")
    bare = advise([], SHEET, heater, setting=None, room=ROOM)
    taught = learn(Workshop(heater, 0.8, np.random.default_rng(3)), 3)
    assert taught.ready_high / taught.ready_low < 0.7 * bare.ready_high / bare.ready_low
    assert taught.bits < bare.bits
    assert bare.bits > 0.3


def test_a_pyrometer_teaches_the_pace():
    heater = catalog().heater("press")
    workshop = Workshop(heater, 0.6, np.random.default_rng(1))
    plain = workshop.heat(60.0)
    reading = float(workshop.run.hottest(np.array([60.0]))[0])
    read = plain.model_copy(update={"reading": reading})
    truth = 0.6 * heater.conductance.value
    without = advise([plain], SHEET, heater, setting=None, room=ROOM).belief.pace_mean
    with_it = advise([read], SHEET, heater, setting=None, room=ROOM).belief.pace_mean
    assert abs(with_it - truth) < abs(without - truth)
    assert with_it == pytest.approx(truth, rel=0.1)


def test_what_is_known_before_any_trial_is_the_catalogue():
    heater = catalog().heater("press")
    belief = prior(SHEET, heater)
    assert belief.weight.sum() == pytest.approx(1.0)
    assert belief.pace_mean == pytest.approx(heater.conductance.value, rel=0.15)

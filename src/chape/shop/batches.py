"""Batches: which open pieces go on which blanks, so that blanks are full and nothing is late.

Pieces can share a blank when they are of one model, sheet and colour. Whatever is urgent has to be
made; what is not fills the seats that are left, the sooner due the sooner. What a batch takes has
to be on the shelf.

The choice is a small integer program, solved by CP-SAT: for each group of pieces that can share
blanks, how many blanks, and which pieces. A piece that is made is worth more the sooner it is due;
an empty seat costs; a mould or fixture that has to be set up costs as much as a few empty seats.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from chape.errors import CannotMakeError
from chape.shop.model import PieceState
from chape.shop.stock import CONSUMABLE, Good, Purchase, Shelf, to_buy

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from chape.shop.model import Order
    from chape.shop.shop_file import ModelTable, ShopFile

#: What an urgent piece is worth; what one is that is due a day later, and how little one can be.
WORTH, SOON_WORTH, LEAST_WORTH = 60, 12, 2

#: What an empty seat, and what another mould, costs.
EMPTY, SET_UP = 6, 12


@dataclass(frozen=True, slots=True)
class Wish:
    """A piece that waits for a batch."""

    serial: str
    piece: int
    model: str
    sheet: str
    colour: str
    clip: str | None
    due: date


@dataclass(frozen=True, slots=True)
class Batch:
    """Pieces made together.

    Attributes:
        model, sheet, colour: of all of them.
        mould, fixture: what they are made with.
        blanks: how many.
        seats: on one blank.
        wishes: the pieces, those due first first.
    """

    model: str
    sheet: str
    colour: str
    mould: str
    fixture: str
    blanks: int
    seats: int
    wishes: tuple[Wish, ...]

    @property
    def empty(self) -> int:
        """Seats without a piece."""
        return self.blanks * self.seats - len(self.wishes)


@dataclass(frozen=True, slots=True)
class Choice:
    """What to make next.

    Attributes:
        batches: in the order of their first due.
        takes: what they take from the shelf.
        left_out: urgent pieces that the shelf does not cover.
        buy: what would cover all urgent pieces and every reorder point.
        value: what the choice is worth: its pieces less empty seats and set-ups.
        bound: no choice is worth more.
    """

    batches: tuple[Batch, ...]
    takes: Mapping[Good, int]
    left_out: tuple[Wish, ...]
    buy: tuple[Purchase, ...]
    value: int
    bound: int

    @property
    def gap(self) -> float:
        """How much more any choice could be worth, as a share."""
        return 0.0 if self.bound <= self.value else (self.bound - self.value) / abs(self.bound)


def wishes_of(orders: Sequence[Order]) -> tuple[Wish, ...]:
    """Return the pieces that wait, those due first first; own knives without a model are not."""
    return tuple(
        Wish(p.serial, p.id, o.line.model, o.line.sheet, o.line.colour, o.line.clip, o.line.due)
        for o in orders
        for p in o.pieces
        if p.state is PieceState.WAITING and o.line.model is not None
    )


def batches_of(file: ShopFile, wishes: Sequence[Wish]) -> tuple[Batch, ...]:
    """Return pieces as batches: those of one model, sheet and colour share blanks.

    Raises:
        InputError: a piece is of a model the shop file does not name.
    """
    found = []
    for key, group in _groups(wishes).items():
        table = file.model(key[0])
        count = -(-len(group) // table.per_blank)
        found.append(Batch(*key, table.mould, table.fixture, count, table.per_blank, tuple(group)))
    return tuple(sorted(found, key=lambda batch: (batch.wishes[0].due, batch.model, batch.colour)))


def sheet_good(model: ModelTable, sheet: str, colour: str) -> Good:
    """Return the blank that a model is formed from."""
    return Good("sheet", f"{sheet} {model.blank[0]}x{model.blank[1]}", colour)


def goods_of_blank(model: ModelTable, sheet: Good) -> Counter[Good]:
    """Return what one blank of a sheet takes from the shelf."""
    used = {Good(CONSUMABLE, name): count for name, count in model.uses.items()}
    return Counter({sheet: 1, **used})


def goods_of_piece(model: ModelTable) -> Counter[Good]:
    """Return what each piece of a model takes from the shelf, but for its clip."""
    goods = Counter({Good(CONSUMABLE, name): count for name, count in model.uses_each.items()})
    if model.eyelets:
        goods[Good("eyelet", model.eyelet)] = model.eyelets
    return goods


def needs_of(file: ShopFile, batch: Batch) -> Counter[Good]:
    """Return what a batch takes from the shelf."""
    model = file.model(batch.model)
    sheet = sheet_good(model, batch.sheet, batch.colour)
    needs: Counter[Good] = Counter()
    for good, count in goods_of_blank(model, sheet).items():
        needs[good] += count * batch.blanks
    for good, count in goods_of_piece(model).items():
        needs[good] += count * len(batch.wishes)
    needs.update(Good("clip", wish.clip) for wish in batch.wishes if wish.clip is not None)
    return needs


def choose_batches(
    file: ShopFile,
    wishes: Sequence[Wish],
    on_shelf: Sequence[Shelf],
    urgent_by: date,
    most_blanks: int = 20,
    seconds: float = 5.0,
) -> Choice:
    """Choose the next batches.

    Args:
        file: with the models.
        wishes: pieces that wait.
        on_shelf: the stock.
        urgent_by: what is due by this day has to be made if the stock allows.
        most_blanks: that are formed in one go, a day's work.
        seconds: to search at most.

    Raises:
        InputError: a piece is of a model the shop file does not name.
    """
    program = _Program(file, urgent_by)
    groups = _groups(wishes)
    for key, group in groups.items():
        program.add(key, group)
    program.limit(on_shelf, most_blanks)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    if solver.solve(program.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise CannotMakeError("no batch was found in time", mend="Allow more seconds")
    made = {serial for serial, each in program.made.items() if solver.value(each)}
    batches = batches_of(file, [wish for wish in wishes if wish.serial in made])
    taken = {wish.serial for batch in batches for wish in batch.wishes}
    left = tuple(w for w in wishes if w.due <= urgent_by and w.serial not in taken)
    takes: Counter[Good] = Counter()
    for batch in batches:
        takes.update(needs_of(file, batch))
    missed: Counter[Good] = Counter()
    for batch in batches_of(file, left):
        missed.update(needs_of(file, batch))
    return Choice(
        batches,
        takes,
        left,
        to_buy(tuple(on_shelf), takes + missed),
        round(solver.objective_value),
        round(solver.best_objective_bound),
    )


#: Model, sheet and colour: pieces that agree in them can share a blank.
Key = tuple[str, str, str]


def _groups(wishes: Sequence[Wish]) -> dict[Key, list[Wish]]:
    groups: dict[Key, list[Wish]] = {}
    for wish in sorted(wishes, key=lambda wish: (wish.due, wish.serial)):
        groups.setdefault((wish.model, wish.sheet, wish.colour), []).append(wish)
    return groups


@dataclass(slots=True, eq=False)
class _Program:
    """The choice as CP-SAT sees it."""

    file: ShopFile
    urgent_by: date
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    blanks: dict[Key, cp_model.IntVar] = field(default_factory=dict)
    made: dict[str, cp_model.IntVar] = field(default_factory=dict)
    used: dict[Good, list[cp_model.LinearExprT]] = field(default_factory=dict)
    gains: list[cp_model.LinearExprT] = field(default_factory=list)

    def add(self, key: Key, group: Sequence[Wish]) -> None:
        """Add a group of pieces: which are made, and on how many blanks."""
        table = self.file.model(key[0])
        count = self.model.new_int_var(0, -(-len(group) // table.per_blank), "")
        chosen = [self.model.new_bool_var(wish.serial) for wish in group]
        self.blanks[key] = count
        self.made |= {wish.serial: each for wish, each in zip(group, chosen, strict=True)}
        self.model.add(sum(chosen) <= table.per_blank * count)
        for good, taken in goods_of_blank(table, sheet_good(table, key[1], key[2])).items():
            self._use(good, taken * count)
        for good, taken in goods_of_piece(table).items():
            self._use(good, taken * sum(chosen))
        for wish, each in zip(group, chosen, strict=True):
            if wish.clip is not None:
                self._use(Good("clip", wish.clip), each)
            self.gains.append(_worth(wish, self.urgent_by) * each)
        self.gains.append(-EMPTY * (table.per_blank * count - sum(chosen)))

    def limit(self, on_shelf: Sequence[Shelf], most_blanks: int) -> None:
        """State what is there, what fits into a day, and what set-ups cost."""
        there = {shelf.good: shelf.on_hand for shelf in on_shelf}
        for good, amounts in self.used.items():
            self.model.add(sum(amounts) <= there.get(good, 0))
        self.model.add(sum(self.blanks.values()) <= most_blanks)
        tools: dict[str, list[cp_model.IntVar]] = {}
        for key, count in self.blanks.items():
            table = self.file.model(key[0])
            for tool in (f"mould {table.mould}", f"fixture {table.fixture}"):
                tools.setdefault(tool, []).append(count)
        for tool, counts in tools.items():
            set_up = self.model.new_bool_var(tool)
            for each in counts:
                self.model.add(each == 0).only_enforce_if(~set_up)
            self.gains.append(-SET_UP * set_up)
        self.model.maximize(sum(self.gains))

    def _use(self, good: Good, count: cp_model.LinearExprT) -> None:
        self.used.setdefault(good, []).append(count)


def _worth(wish: Wish, urgent_by: date) -> int:
    days = (wish.due - urgent_by).days
    return WORTH if days <= 0 else max(LEAST_WORTH, SOON_WORTH + 1 - days)

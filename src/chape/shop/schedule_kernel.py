"""Puts blocks into a schedule, each into the first place where it fits, compiled.

Each lane of a resource keeps what is taken of it as spans that are sorted and apart: spans that
touch are one, so that a busy day has few. A use that ends with a block which has no place yet takes
its lane for good, and gives back the rest when that block comes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.kernels import inner_kernel, kernel
from chape.shop.schedule_lanes import OPEN, give_back, lane_room, room, take

if TYPE_CHECKING:
    from chape.shop.schedule_lanes import Ranks, Whole
    from chape.shop.schedule_numbers import Numbers, State

#: A block is moved on at most so often before it is given up.
MOST_MOVES = 100_000


@kernel
def place_all(n: Numbers, s: State, ranks: Ranks) -> int:
    """Build a schedule in ``s``: of the blocks that can go, that of the smallest rank goes first.

    Returns:
        -1 where it is whole; the number of a block that fits nowhere; the count of blocks where
        they wait for each other in a ring.
    """
    _empty(n, s)
    count = len(n.blocks)
    for block in range(count):
        if n.blocks[block]["fixed"] >= 0 and _fit(n, s, block, _earliest(n, s, block)):
            return block
    # Blocks that can go, and those held back until what they lack is given back: how many.
    tally, ready, held = s.tally, s.ready, s.held
    tally[0], tally[1] = 0, 0
    for block in range(count):
        if n.blocks[block]["waits"] == 0:
            ready[tally[0]] = block
            tally[0] += 1
    placed = 0
    while tally[0]:
        place = _next(n, ranks, ready, tally[0])
        block = int(ready[place])
        tally[0] -= 1
        ready[place] = ready[tally[0]]
        if n.blocks[block]["fixed"] < 0:
            found = _fit(n, s, block, _earliest(n, s, block))
            if found < 0:
                return block
            if found > 0:
                held[2 * tally[1]], held[2 * tally[1] + 1] = block, found - 1
                tally[1] += 1
                continue
        placed += 1
        _close(n, s, block)
        _let_go(n, s, block, ready, held, tally)
    return -1 if placed == count else count


@inner_kernel
def _next(n: Numbers, ranks: Ranks, ready: Whole, many: int) -> int:
    """Return which of the blocks that can go is first."""
    first = 0
    for i in range(1, many):
        if _goes_before(n, ranks, ready[i], ready[first]):
            first = i
    return first


@inner_kernel
def _let_go(n: Numbers, s: State, block: int, ready: Whole, held: Whole, tally: Whole) -> None:
    """Let go what waited for a block, or for what it gave back."""
    for i in range(n.blocks[block]["close_from"], n.blocks[block]["close_to"]):
        freed = n.uses[n.close[i]]["resource"]
        still = 0
        for j in range(tally[1]):
            other, lacks = held[2 * j], held[2 * j + 1]
            if lacks == freed or lacks == len(n.resources):
                ready[tally[0]] = other
                tally[0] += 1
            else:
                held[2 * still], held[2 * still + 1] = other, lacks
                still += 1
        tally[1] = still
    for i in range(n.blocks[block]["after_from"], n.blocks[block]["after_to"]):
        s.waits[n.after[i]] -= 1
        if s.waits[n.after[i]] == 0:
            ready[tally[0]] = n.after[i]
            tally[0] += 1


@inner_kernel
def _goes_before(n: Numbers, ranks: Ranks, one: int, other: int) -> bool:
    """Say which of two blocks is put first: what is fixed, the smaller rank, as listed."""
    fixed, second = n.blocks[one]["fixed"] >= 0, n.blocks[other]["fixed"] >= 0
    if fixed != second:
        return bool(fixed)
    return bool(ranks[one] < ranks[other] or (ranks[one] == ranks[other] and one < other))


@inner_kernel
def cost_of(n: Numbers, s: State) -> tuple[int, int]:
    """Return the finish and the weighted lateness of a whole schedule."""
    finish, late = 0, 0
    for block in range(len(n.blocks)):
        finish = max(finish, s.start[block] + n.length[block, s.way[block]])
    for i in range(len(n.dues)):
        due = n.dues[i]
        end = s.start[due["block"]] + n.due_at[i, s.way[due["block"]]]
        late += due["weight"] * max(0, end - due["at"])
    return finish, late


@inner_kernel
def _empty(n: Numbers, s: State) -> None:
    for block in range(len(n.blocks)):
        s.start[block] = -1
        s.waits[block] = n.blocks[block]["waits"]
    for resource in range(len(n.resources)):
        s.last[resource] = n.resources[resource]["at_start"]
        s.free[resource] = 0
    for lane in range(len(n.used)):
        s.used[lane] = n.used[lane]
        for i in range(n.used[lane]):
            s.spans[lane, i, 0] = n.spans[lane, i, 0]
            s.spans[lane, i, 1] = n.spans[lane, i, 1]
    s.made[0] = 0


@inner_kernel
def _earliest(n: Numbers, s: State, block: int) -> int:
    earliest = 0
    for i in range(n.blocks[block]["into_from"], n.blocks[block]["into_to"]):
        one = n.into[i]
        earliest = max(earliest, s.start[one] + n.into_at[i, s.way[one], s.way[block]])
    return earliest


@inner_kernel
def _fit(n: Numbers, s: State, block: int, earliest: int) -> int:  # noqa: C901 - see its loop
    """Put a block into the first place from ``earliest`` on, with its set-ups.

    Returns:
        0 it has a place; r + 1 resource r is taken for good meanwhile, one more than there are
        where it is something that a set-up needs; -1 it never fits.
    """
    fixed = n.blocks[block]["fixed"]
    way = s.way[block]
    start = fixed if fixed >= 0 else max(earliest, n.earliest[block, way], s.hold[block])
    first, last = n.blocks[block]["use_from"], n.blocks[block]["use_to"]
    made = 0 if _needs_change(n, s, block) else -1
    for _ in range(MOST_MOVES):
        # This is most of the work: as a kernel of its own, all takes twice as long.
        later, lacks = -1, len(n.resources)
        for i in range(first, last):
            use = n.uses[i]
            resource = n.resources[use["resource"]]
            begin = start + n.use_at[i, way, 0]
            end = OPEN if n.use_at[i, way, 1] < 0 else start + n.use_at[i, way, 1]
            moment = begin
            if use["family"] >= 0 and resource["set_up"] and made <= 0:
                # A resource with set-ups is filled in the order of time only.
                known = s.last[use["resource"]]
                took = n.change[use["resource"], known, use["family"]]
                moment = max(moment, s.free[use["resource"]] + took)
            if moment == begin and end > begin:
                lanes = resource["lane_from"], resource["lane_to"]
                moment = room(s.used, s.spans, *lanes, begin, end - begin, use["amount"])
            if moment > begin:
                later, lacks = start + moment - begin, use["resource"]
                break
        if later < 0 and made == 0:
            late, made = _set_up(n, s, block, start)
            if not late:
                continue
            later = start + late
        if later < 0:
            s.made[0] += max(0, made)
            return 0 if _put(n, s, block, start) else -1
        if made > 0:
            _undo(n, s, made)
            made = 0
        if fixed >= 0:
            return -1
        if later > OPEN // 2:
            return lacks + 1
        start = later
    return -1


@inner_kernel
def _needs_change(n: Numbers, s: State, block: int) -> bool:
    for i in range(n.blocks[block]["use_from"], n.blocks[block]["use_to"]):
        resource, family = n.uses[i]["resource"], n.uses[i]["family"]
        if family >= 0 and n.change[resource, s.last[resource], family] > 0:
            return True
    return False


@inner_kernel
def _set_up(n: Numbers, s: State, block: int, start: int) -> tuple[int, int]:
    """Take time for the block's set-ups, each as early as can be.

    Returns:
        How many seconds too late the last of them is, and how many were made.
    """
    made, tried = 0, 0
    for i in range(n.blocks[block]["use_from"], n.blocks[block]["use_to"]):
        resource, family = n.uses[i]["resource"], n.uses[i]["family"]
        if family < 0:
            continue
        took = n.change[resource, s.last[resource], family]
        if took <= 0:
            continue
        begin = _free_at(n, s, resource, took)
        for j in range(n.resources[resource]["need_from"], n.resources[resource]["need_to"]):
            lane = n.resources[n.needs[j]]["lane_from"]
            while lane_room(s.used, s.spans, lane, begin, took) > begin:
                lane += 1
            take(s.used, s.spans, lane, begin, begin + took)
            s.tried[tried] = lane
            tried += 1
        row = s.changes[s.made[0] + made]
        row[0], row[1], row[2] = resource, s.last[resource], family
        row[3], row[4] = begin, begin + took
        made += 1
        late = begin + took - start - n.use_at[i, s.way[block], 0]
        if late > 0:
            return late, made
    return 0, made


@inner_kernel
def _free_at(n: Numbers, s: State, resource: int, took: int) -> int:
    """Return the first moment from which all that a set-up needs is free for so long."""
    begin = s.free[resource]
    while True:
        later = begin
        for j in range(n.resources[resource]["need_from"], n.resources[resource]["need_to"]):
            need = n.resources[n.needs[j]]
            first, last = need["lane_from"], need["lane_to"]
            later = max(later, room(s.used, s.spans, first, last, begin, took, 1))
        if later == begin:
            return int(begin)
        begin = later


@inner_kernel
def _undo(n: Numbers, s: State, made: int) -> None:
    """Give back what the set-ups of a block took."""
    tried = 0
    for i in range(s.made[0], s.made[0] + made):
        resource = s.changes[i, 0]
        for _ in range(n.resources[resource]["need_from"], n.resources[resource]["need_to"]):
            give_back(s.used, s.spans, s.tried[tried], s.changes[i, 3], s.changes[i, 4])
            tried += 1


@inner_kernel
def _put(n: Numbers, s: State, block: int, start: int) -> bool:
    """Put a block at a start where each of its uses has room; say whether all have together."""
    s.start[block] = start
    way = s.way[block]
    for i in range(n.blocks[block]["use_from"], n.blocks[block]["use_to"]):
        use = n.uses[i]
        resource = use["resource"]
        begin = start + n.use_at[i, way, 0]
        end = OPEN if n.use_at[i, way, 1] < 0 else start + n.use_at[i, way, 1]
        if use["family"] >= 0 and n.resources[resource]["set_up"]:
            s.last[resource], s.free[resource] = use["family"], end
        if end <= begin:
            continue
        lane, last = n.resources[resource]["lane_from"], n.resources[resource]["lane_to"]
        for j in range(use["amount"]):
            while lane < last and lane_room(s.used, s.spans, lane, begin, end - begin) > begin:
                lane += 1
            if lane == last:
                return False
            take(s.used, s.spans, lane, begin, end)
            s.lanes[use["taken"] + j] = lane
            lane += 1
    return True


@inner_kernel
def _close(n: Numbers, s: State, block: int) -> None:
    """Give back what ends with a block."""
    for i in range(n.blocks[block]["close_from"], n.blocks[block]["close_to"]):
        use, end = n.uses[n.close[i]], s.start[block] + n.close_at[i, s.way[block]]
        for j in range(use["amount"]):
            give_back(s.used, s.spans, s.lanes[use["taken"] + j], end, OPEN)
        if use["family"] >= 0 and n.resources[use["resource"]]["set_up"]:
            s.free[use["resource"]] = end

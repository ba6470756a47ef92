"""In which order jobs are cut so that gas and nozzle are changed least often."""

from collections.abc import Hashable, Sequence
from itertools import pairwise
from typing import NamedTuple

from kerfdocket.planning.pack.model import Changes

__all__ = ["SetUp", "count_changes", "proposed_order"]


class SetUp(NamedTuple):
    """What has to be fitted for a job; two set-ups that are equal need no change between them.

    Attributes:
        fuel: the fuel gas.
        torch: the torch, within which nozzles are changed.
        nozzle: the nozzle in that torch.
    """

    fuel: Hashable
    torch: Hashable
    nozzle: Hashable


def count_changes(set_ups: Sequence[SetUp]) -> Changes:
    """Count what has to be changed from each job to the next, in the order given.

    What is fitted before the first job is not known and not counted. Another gas or torch takes
    another nozzle, so that each of these is a change of the nozzle, too.

    >>> first, second = SetUp("propane", "hand", "1.2"), SetUp("acetylene", "hand", "1.2")
    >>> count_changes([first, first, second])
    Changes(gas=1, nozzle=1)
    """
    steps = list(pairwise(set_ups))
    return Changes(
        gas=sum(before.fuel != after.fuel for before, after in steps),
        nozzle=sum(before != after for before, after in steps),
    )


def proposed_order(set_ups: Sequence[SetUp]) -> tuple[int, ...]:
    """Return the order with the fewest changes of gas and, of those orders, of nozzle.

    Jobs are brought together by gas, within it by torch, within that by nozzle; whatever came
    first among those given comes first, and what is alike stays as it was given. With g gases and
    n set-ups that differ, any order changes the gas at least g - 1 times and the set-up at least
    n - 1 times; bringing alike together reaches both at once, so no order is better.

    Args:
        set_ups: of each job, as given.

    Returns:
        Their indices in the proposed order.

    >>> a, b = SetUp("propane", "hand", "1.2"), SetUp("acetylene", "hand", "1.2")
    >>> proposed_order([a, b, a])
    (0, 2, 1)
    """
    first: dict[tuple[Hashable, ...], int] = {}
    for index, set_up in enumerate(set_ups):
        for depth in (1, 2, 3):
            first.setdefault(set_up[:depth], index)
    return tuple(
        sorted(
            range(len(set_ups)),
            key=lambda index: (*(first[set_ups[index][:depth]] for depth in (1, 2, 3)), index),
        )
    )

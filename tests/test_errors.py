"""Errors come out of another process as they went in: what is drawn and issued is in one."""

import importlib
import pickle
import pkgutil
from collections.abc import Iterator

import pytest

import kerfdocket
from kerfdocket.archive import Fault
from kerfdocket.archive.keeping.rows import NotWhole
from kerfdocket.errors import KerfdocketError
from kerfdocket.job import JobError, Problem
from kerfdocket.sheet.shop import ShopError

OF_THEIR_OWN = {
    JobError: ((Problem("plate.grade", "must be given"), Problem("", "no")), "job.toml"),
    NotWhole: ((Fault("event 2", "was altered"),),),
    ShopError: (("logo.svg is too large", "shop.toml has no name"),),
}


def _below(kind: type[KerfdocketError]) -> Iterator[type[KerfdocketError]]:
    for one in kind.__subclasses__():
        yield one
        yield from _below(one)


def _all() -> list[type[KerfdocketError]]:
    for one in pkgutil.walk_packages(kerfdocket.__path__, "kerfdocket."):
        if "migrations" not in one.name and not one.name.endswith("__main__"):
            importlib.import_module(one.name)
    return sorted(set(_below(KerfdocketError)), key=lambda one: one.__name__)


@pytest.mark.parametrize("kind", _all(), ids=lambda one: one.__name__)
def test_an_error_says_the_same_after_another_process(kind: type[KerfdocketError]) -> None:
    error = kind(*OF_THEIR_OWN.get(kind, ("it cannot be done",)))
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is kind
    assert str(again) == str(error)
    assert vars(again) == vars(error)

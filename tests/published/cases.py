"""Reads `vectors.json`: values that outside libraries computed, each with its own tolerance."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest


@dataclass(frozen=True)
class Vector:
    """One outside value.

    Attributes:
        given: inputs in the units that `vectors.json` states.
        expected: outputs of the reference library.
        source: library, version and method.
    """

    name: str
    form: str
    given: Mapping[str, Any]
    expected: Mapping[str, float]
    relative: float
    absolute: float
    source: str

    def hold(self, ours: Mapping[str, float]) -> None:
        """Compare what we compute with the outside value, within the vector's tolerance."""
        assert ours, "nothing compared"
        for output, value in ours.items():
            reference = self.expected[output]
            allowed = max(self.absolute, self.relative * abs(reference))
            assert abs(value - reference) <= allowed, (
                f"{output}: ours {value:.9g}, reference {reference:.9g} ± {allowed:.3g}; "
                f"{self.source}"
            )


@cache
def _all() -> tuple[tuple[int, Vector], ...]:
    text = (Path(__file__).parent / "vectors.json").read_text(encoding="utf-8")
    found = []
    for row in json.loads(text)["vectors"]:
        reference = row["reference"]
        vector = Vector(
            name=row["name"],
            form=row["form"],
            given={key: item["value"] for key, item in row["inputs"].items()},
            expected={key: item["value"] for key, item in row["outputs"].items()},
            relative=row["tolerance"].get("rel", 0.0),
            absolute=row["tolerance"].get("abs", 0.0),
            source=f"{reference['library']} {reference['version']}, {reference['method']}",
        )
        assert vector.relative > 0.0 or vector.absolute > 0.0, f"{vector.name}: no tolerance"
        found.append((row["topic"], vector))
    return tuple(found)


def cases(topic: int, refused: Mapping[str, str] | None = None) -> list[Any]:
    """Return the vectors of a topic as parameters; those we refuse to compute must keep failing.

    Args:
        topic: number in the file.
        refused: vector names with the reason why our function refuses their inputs.
    """
    refused = dict(refused or {})
    parameters = []
    for number, vector in _all():
        if number != topic:
            continue
        reason = refused.pop(vector.name, None)
        marks = [pytest.mark.xfail(strict=True, raises=ValueError, reason=reason)] if reason else []
        parameters.append(pytest.param(vector, id=vector.name, marks=marks))
    assert parameters, f"no vectors of topic {topic}"
    assert not refused, f"no such vectors: {sorted(refused)}"
    return parameters

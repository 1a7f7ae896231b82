"""What a bench taught of how boards are made and mounted: how far each cause lies from what was asked."""

from collections.abc import Iterable, Mapping
from typing import Annotated, Literal

from pydantic import (
    BeforeValidator,
    Field,
    StrictStr,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from coilgen.design.keys import SI, Quantity, Table, Word, optional
from coilgen.errors import DesignError, shown

Cause = Literal[
    "trace width",
    "copper thickness",
    "conductivity",
    "plating",
    "dielectric thickness",
    "permittivity",
    "solder mask",
    "metal's permeability",
    "saturation",
    "metal's conductivity",
    "remanence",
    "convection",
    "joints",
]
"""What boards have in common that were made and mounted alike; named as where a band comes from."""

LENGTHS: Mapping[str, Quantity] = {
    "trace width": Quantity(dimension="length", least=-1e-3, most=1e-3),
    "plating": Quantity(dimension="length", least=1e-6, most=2e-4),
}
"""Causes told as lengths: what is added to the width, the wall of a plated barrel. Others are factors."""
_FACTOR = Quantity(dimension="number", least=0.01, most=100.0)

Limits = tuple[float, float, float]
"""Low, expected and high: 95 % lie between the ends."""


class Learnt(Table):
    """One cause: where it lies, and between which limits with 95 %."""

    cause: Annotated[Cause, Word()]
    of: StrictStr = Field(description="what it holds for; a design made of something else does not take it")
    value: float = Field(description="expected: a length that is added or a factor on what was asked")
    low: float
    high: float

    @field_validator("value", "low", "high", mode="before")
    @classmethod
    def _in_si(cls, given: object, info: ValidationInfo) -> float:
        return LENGTHS.get(str(info.data.get("cause")), _FACTOR).value(given)

    @model_validator(mode="after")
    def _rising(self) -> "Learnt":
        if not self.low <= self.value <= self.high:
            raise DesignError.at("learnt.value", "is not between low and high; give low, value and high")
        return self

    @property
    def limits(self) -> Limits:
        """Low, expected, high."""
        return self.low, self.value, self.high


def _rows(given: object) -> object:
    if not isinstance(given, list | tuple) or not all(isinstance(row, list | tuple) for row in given):
        raise ValueError(f"{shown(given)} is no matrix; give a list of lists of numbers")
    numbers = [entry for row in given for entry in row]
    if not all(isinstance(entry, int | float) and not isinstance(entry, bool) for entry in numbers):
        raise ValueError("holds something else than numbers; give a list of lists of numbers")
    return tuple(tuple(float(entry) for entry in row) for row in given)


class Calibration(Table):
    """What a file of `coilgen bench` tells; correlation: of the causes, in their order."""

    file: StrictStr = Field(default="", description="the file's name, as the design told it")
    name: StrictStr = Field(description="of the bench")
    says: StrictStr = Field(default="", description="what it was learnt from")
    learnt: tuple[Learnt, ...] = optional("causes, each with its limits", ())
    correlation: Annotated[tuple[tuple[float, ...], ...], BeforeValidator(_rows)] = optional(
        "of each cause with each", ()
    )

    @model_validator(mode="before")
    @classmethod
    def _read(cls, given: object) -> object:
        if isinstance(given, str):
            raise ValueError(
                f"{shown(given)} names a file, which is looked for beside the design's own: read the design "
                "from its file, or give the calibration's tables"
            )
        return given

    @model_validator(mode="after")
    def _whole(self) -> "Calibration":
        causes = [each.cause for each in self.learnt]
        if len(set(causes)) < len(causes):
            raise DesignError.at("calibration.learnt", "tells a cause twice; keep one of the two")
        if self.correlation:
            _refuse_no_correlation(self.correlation, len(causes))
        return self

    @classmethod
    def exactly(cls, values: Mapping[str, float]) -> "Calibration":
        """Boards that are made just so, SI: nothing is left open."""
        return cls.model_construct(
            file="",
            name="",
            says="",
            learnt=tuple(
                Learnt.model_construct(cause=cause, of="", value=SI(at), low=SI(at), high=SI(at))
                for cause, at in values.items()
            ),
            correlation=(),
        )

    @property
    def source(self) -> str:
        """The file, or what was measured where it was given by tables."""
        return self.file or f"the bench of {self.name}"

    def of(self, cause: str) -> Limits | None:
        """Limits of a cause; None where it was not learnt."""
        return next((each.limits for each in self.learnt if each.cause == cause), None)

    @property
    def wider(self) -> float:
        """By how much traces are wider than drawn, m."""
        limits = self.of("trace width")
        return 0.0 if limits is None else limits[1]

    @property
    def convection(self) -> Limits | None:
        """Factor on the film of air."""
        return self.of("convection")

    @property
    def joints(self) -> Limits | None:
        """Factor on the resistances of joints."""
        return self.of("joints")

    def only(self, causes: Iterable[str]) -> "Calibration":
        """With some of the causes alone."""
        chosen = set(causes)
        kept = [place for place, each in enumerate(self.learnt) if each.cause in chosen]
        matrix = tuple(tuple(self.correlation[i][j] for j in kept) for i in kept) if self.correlation else ()
        return self.unchecked(learnt=tuple(self.learnt[place] for place in kept), correlation=matrix)


WRITTEN = WithJsonSchema({"type": "string", "minLength": 1, "examples": ["shutter-calibration.toml"]})
"""How a design file names one: by its file."""


def _refuse_no_correlation(given: tuple[tuple[float, ...], ...], count: int) -> None:
    """DesignError for what is no matrix of correlations: symmetrical, ones on its diagonal, no negative
    variance."""
    import numpy as np

    key = "calibration.correlation"
    if len(given) != count or any(len(row) != count for row in given):
        raise DesignError.at(key, f"is not {count} by {count}, one row for each cause learnt; write it so")
    matrix = np.array(given)
    sound = np.isfinite(matrix).all() and np.allclose(matrix, matrix.T, atol=1e-6)
    if not sound or not np.allclose(np.diag(matrix), 1.0, atol=1e-6):
        raise DesignError.at(key, "is not symmetrical with ones on its diagonal; take the bench's own file")
    if np.linalg.eigvalsh(matrix).min() < -1e-6:
        raise DesignError.at(key, "holds correlations that contradict one another; take the bench's own file")

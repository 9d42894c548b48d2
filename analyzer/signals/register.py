"""The register of signals: what each is called, means, is made of and takes."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

Function = TypeVar("Function", bound=Callable[..., Any])


@dataclass(frozen=True)
class Signal:
    """A derived quantity.

    ``parameters`` are the limits that a rule which uses it must have; ``settled_by`` says what a user can add where
    the signal is unknown; ``needs`` are the trends whose logging interval it inherits; without every trend of
    ``where_trended`` a terminal's signal is unknown, and is not worked out; ``whole`` says that it is worked out for
    all terminals of a scene at once: others bear on a terminal's own, or nearly every other signal takes it.
    """

    name: str
    dimension: str
    function: Callable[..., Any]
    needs: tuple[str, ...]
    settled_by: str
    parameters: tuple[str, ...]
    state: bool
    where_trended: tuple[str, ...]
    whole: bool

    @property
    def meaning(self) -> str:
        return (inspect.getdoc(self.function) or "").split("\n\n")[0].replace("\n", " ")


SIGNALS: dict[str, Signal] = {}


def signal(
    dimension: str,
    *,
    needs: tuple[str, ...] = (),
    settled_by: str = "",
    where_trended: tuple[str, ...] = (),
    whole: bool = False,
) -> Callable[[Function], Function]:
    """Register a function of the scene as a signal under its own name."""

    def register(function: Function) -> Function:
        parameters = tuple(
            name
            for name, parameter in inspect.signature(function).parameters.items()
            if parameter.kind is inspect.Parameter.KEYWORD_ONLY
        )
        SIGNALS[function.__name__] = Signal(
            function.__name__,
            dimension,
            function,
            needs,
            settled_by,
            parameters,
            dimension == "state",
            where_trended,
            whole,
        )
        return function

    return register

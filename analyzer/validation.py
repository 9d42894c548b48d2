"""Mistakes in a file of settings, gathered in one sentence, each with its place and the nearest known word."""

from __future__ import annotations

import re
import typing
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from analyzer.errors import nearest


def mistakes(error: ValidationError, model: type[BaseModel]) -> str:
    """Put all that pydantic found wrong into one sentence."""
    return "; ".join(_mistake(found, model) for found in error.errors())


def _mistake(found: Mapping[str, Any], model: type[BaseModel]) -> str:
    key = ".".join(str(part) for part in found["loc"] if not re.fullmatch(r"function-.*", str(part)))
    match found["type"]:
        case "extra_forbidden":
            known = _known_keys(model, found["loc"][:-1])
            return f"unknown key {key!r}{nearest(found['loc'][-1], known)}; known here are {', '.join(known)}"
        case "missing":
            return f"the key {key!r} is missing"
        case "value_error":
            return f"{key}: {found['ctx']['error']}"
        case _:
            return f"{key}: {_lower_first(found['msg'])}, not {str(found['input'])[:80]!r}"


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]


def _known_keys(model: type[BaseModel], place: tuple[int | str, ...]) -> list[str]:
    """Follow a place through nested models, tables and lists to the model that stands there."""
    for part in place:
        if isinstance(part, str) and part in model.model_fields:
            found = _model_inside(model.model_fields[part].annotation)
            model = found or model
    return [field.alias or name for name, field in model.model_fields.items()]


def _model_inside(annotation: object) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in typing.get_args(annotation):
        if found := _model_inside(part):
            return found
    return None

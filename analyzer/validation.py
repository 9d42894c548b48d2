"""A file of settings read; the mistakes in it in one sentence, each with its place and the nearest known word."""

from __future__ import annotations

import json
import re
import typing
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from analyzer.errors import UserError, nearest
from analyzer.inputs import read_toml

_M = TypeVar("_M", bound=BaseModel)


def read_settings(file: Path, model: type[_M], refused: type[UserError], kind: str, absent: str = "") -> _M:
    """Read a TOML file of settings.

    Parameters
    ----------
    file : Path
    model : type
        What may stand in it.
    refused : type
        What is raised where it cannot be read, or says something that it cannot say.
    kind : str
        What the file is called, such as ``"rule"``.
    absent : str
        What to do where there is no such file.
    """
    try:
        table = read_toml(file)
    except FileNotFoundError:
        raise refused(file, "there is no such file", absent or "Check its name.") from None
    except OSError as error:
        raise refused(file, f"cannot be read ({error.strerror})", "Check the path and its permissions.") from None
    except ValueError as error:
        raise refused(file, f"is not valid TOML: {error}", "Correct that place and run again.") from None
    try:
        return model.model_validate(table)
    except ValidationError as error:
        raise refused(file, mistakes(error, model), f"Correct the {kind} file and run again.") from None


def read_stored(file: Path, form: str, refused: type[UserError], remedy: str) -> dict[str, Any]:
    """Read a JSON file that a review wrote, of the format ``form``; ``refused`` is raised where it is no such file."""
    try:
        stored: dict[str, Any] = json.loads(file.read_text("utf-8"))
        found = stored.get("format")
    except (OSError, ValueError, AttributeError) as error:
        raise refused(file, f"cannot be read ({type(error).__name__})", remedy) from None
    if found != form:
        raise refused(file, f"is of the format {found!r}, not {form!r}", remedy)
    return stored


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

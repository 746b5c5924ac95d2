"""What the annotation of a field lets in: values that are plainly right, told apart without loading a library.

A form is a function that gives a value back as the field holds it, made of its form in a file where it is in that.
It takes nothing that `tabterm.judge` would refuse or make something else of; what it does not take is judged
there.
"""

from __future__ import annotations

import math
import operator
import re
import sys
from dataclasses import is_dataclass
from enum import StrEnum
from fractions import Fraction
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema

    Form = Callable[[Any], Any]


class DoubtError(Exception):
    """A value is not plainly right."""


class Forms(dict[str, "Form"]):
    """The form of each field of a class with annotations, made when it is first asked for."""

    def __init__(self, kind: Any) -> None:
        super().__init__()
        self._kind = kind

    def __missing__(self, name: str) -> Form:
        form = self[name] = form_of(_annotation(self._kind, name))
        return form


def _annotation(kind: Any, name: str) -> Any:
    """What a field of a dataclass is annotated with, read in the module of the class that has it first."""
    for base in reversed(kind.__mro__):
        field = vars(base).get("__dataclass_fields__", {}).get(name)
        if field is not None and field is kind.__dataclass_fields__[name]:
            return eval(field.type, vars(sys.modules[base.__module__]))  # noqa: S307 - words of our own source
    raise DoubtError(name)


def form_of(hint: Any) -> Form:
    """The form of an annotation; one that is not known here has none that is plainly right."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in _GENERIC:
        return _GENERIC[origin](arguments)
    if hint in _PLAIN:
        return _PLAIN[hint]
    if hasattr(hint, "fit"):
        own: Form = hint.fit
        return own
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return _word_of(hint)
    if isinstance(hint, type) and is_dataclass(hint):
        return _dataclass_of(hint)
    return _doubted


def _doubted(value: Any) -> Any:
    raise DoubtError(value)


def _nothing(value: Any) -> None:
    if value is not None:
        raise DoubtError(value)


def _boolean(value: Any) -> Any:
    if value is True or value is False:
        return value
    raise DoubtError(value)


def _whole(value: Any) -> Any:
    if type(value) is int:
        return value
    raise DoubtError(value)


def _number(value: Any) -> Any:
    if type(value) is int and abs(value) < 2**53:
        return float(value)
    if type(value) is float and math.isfinite(value):
        return value
    raise DoubtError(value)


def _text(value: Any) -> Any:
    if type(value) is str and (value.isascii() or not _HALVES.search(value)):
        return value
    raise DoubtError(value)


_HALVES = re.compile("[\ud800-\udfff]")
"""Half a character, which no text in a file can have."""


def fraction(value: Any) -> Fraction:
    """A fraction, or the text of one; raises DoubtError."""
    if type(value) is Fraction:
        return value
    if type(value) is str and FRACTION.match(value):
        return Fraction(value)
    raise DoubtError(value)


FRACTION = re.compile(r"^\d{1,9}(/[1-9]\d{0,8})?$", re.ASCII)


_PLAIN: dict[Any, Form] = {
    Any: lambda value: value,
    None: _nothing,
    type(None): _nothing,
    bool: _boolean,
    int: _whole,
    float: _number,
    str: _text,
    Fraction: fraction,
}


def _word_of(kind: type[StrEnum]) -> Form:
    def form(value: Any) -> Any:
        if type(value) is kind or type(value) is str:
            return kind(value)
        raise DoubtError(value)

    return form


def _dataclass_of(kind: type) -> Form:
    """Made of all fields that are given, by the class itself; a field that it has not is doubted."""
    forms = Forms(kind)

    def form(value: Any) -> Any:
        if type(value) is kind:
            return value
        if type(value) is not dict:
            raise DoubtError(value)
        try:
            return kind(**{name: forms[name](each) for name, each in value.items()})
        except TypeError:
            raise DoubtError(value) from None

    return form


def _marked(arguments: tuple[Any, ...]) -> Form:
    """An annotation with marks: each is a form of its own, from the inside out."""
    first, *marks = arguments
    if not all(hasattr(mark, "fit") for mark in marks):
        return _doubted
    early = [mark.fit for mark in reversed(marks) if isinstance(mark, Before)]
    late = [mark.fit for mark in marks if not isinstance(mark, Before)]
    steps = (*early, form_of(first), *late)

    def form(value: Any) -> Any:
        for step in steps:
            value = step(value)
        return value

    return form


def _literal(words: tuple[Any, ...]) -> Form:
    known = frozenset(words)

    def form(value: Any) -> Any:
        if type(value) is str and value in known:
            return value
        raise DoubtError(value)

    return form


def _either(kinds: tuple[Any, ...]) -> Form:
    forms = [form_of(kind) for kind in kinds if kind is not type(None)]
    is_optional = len(forms) < len(kinds)

    def form(value: Any) -> Any:
        if value is None and is_optional:
            return None
        if len(forms) == 1:
            return forms[0](value)
        found = []
        for each in forms:
            try:
                found.append(each(value))
            except (DoubtError, ValueError):
                continue
        if len(found) != 1:
            raise DoubtError(value)
        return found[0]

    return form


def _row(kinds: tuple[Any, ...]) -> Form:
    """A tuple, made of a list where it is one: of any length, or of as many values as there are annotations."""
    if kinds[-1] is not Ellipsis:
        forms = [form_of(kind) for kind in kinds]

        def fixed(value: Any) -> Any:
            if type(value) not in {tuple, list} or len(value) != len(forms):
                raise DoubtError(value)
            return tuple([form(each) for form, each in zip(forms, value, strict=True)])

        return fixed
    form, kind = form_of(kinds[0]), kinds[0]
    is_value = hasattr(kind, "fit")

    def any_length(value: Any) -> Any:
        if type(value) is tuple and is_value and set(map(type, value)) <= {kind}:
            return value
        if type(value) is tuple or type(value) is list:
            return tuple([form(each) for each in value])
        raise DoubtError(value)

    return any_length


def _table(kinds: tuple[Any, ...]) -> Form:
    key, value_of = map(form_of, kinds)

    def form(value: Any) -> Any:
        if type(value) is not dict:
            raise DoubtError(value)
        return {key(name): value_of(each) for name, each in value.items()}

    return form


_GENERIC: dict[Any, Callable[[tuple[Any, ...]], Form]] = {
    Annotated: _marked,
    Literal: _literal,
    Union: _either,
    UnionType: _either,
    tuple: _row,
    dict: _table,
}


_HOLDS: Mapping[str, Callable[[Any, Any], Any]] = {
    "ge": operator.ge,
    "gt": operator.gt,
    "le": operator.le,
    "lt": operator.lt,
    "multiple_of": lambda value, of: value % of == 0,
    "min_length": lambda value, least: len(value) >= least,
    "max_length": lambda value, most: len(value) <= most,
    "pattern": lambda value, pattern: re.fullmatch(pattern, value),
    "allow_inf_nan": lambda value, allowed: allowed or math.isfinite(value),
}
"""Limits by the names that JSON Schema's and the library's own words for them come from."""


class Limits:
    """A mark of an annotation: what a number, a text or a row may be, by the names of `_HOLDS`."""

    def __init__(self, **limits: Any) -> None:
        self.limits = limits
        self._checks = [(_HOLDS[name], limit) for name, limit in limits.items()]

    def fit(self, value: Any) -> Any:
        """The value, where it is within them."""
        for holds, limit in self._checks:
            if not holds(value, limit):
                raise DoubtError(value)
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        schema: Any = handler(source)
        limited: CoreSchema = schema | self.limits
        return limited


class Before:
    """A mark: a function that a value goes through first; it raises ValueError for what cannot be."""

    def __init__(self, step: Form) -> None:
        self.fit = step

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_before_validator_function(self.fit, handler(source))


class After:
    """A mark: a function that a value of the right type goes through; it raises ValueError for what cannot be."""

    def __init__(self, step: Form) -> None:
        self.fit = step

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(self.fit, handler(source))

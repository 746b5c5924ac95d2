"""Frozen values: the base of every model, and the base of values that are one word of text in a file."""

from __future__ import annotations

import json
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields, is_dataclass  # noqa: TID251 - only its fields
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from operator import attrgetter
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, NoReturn, Self, TypeVar, dataclass_transform

from tabterm.errors import TabtermError
from tabterm.forms import FRACTION, Before, DoubtError, Forms, form_of

if TYPE_CHECKING:
    from collections.abc import Container

    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import CoreSchema

T = TypeVar("T")

_set = object.__setattr__


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(field,))
class Value:
    """A frozen, checked value; `with_` is the one way to get a changed copy.

    A subclass is a dataclass by its annotations alone. A field is given by name and takes what its annotation lets
    in, also in its form in a file; what is not plainly right is judged (`tabterm.judge`), and raises UnfitError
    where it cannot be. `__post_init__` checks the fields together, and raises TabtermError or ValueError.

    A value holds only what differs from the defaults, which are the class's. `functools.cached_property` may be
    used for derived facts: a changed copy starts without them.
    """

    __pydantic_config__: ClassVar[Any] = {"extra": "forbid"}
    __dataclass_fields__: ClassVar[dict[str, Any]]
    _forms: ClassVar[Forms]
    _defaults: ClassVar[dict[str, Any]]
    _needed: ClassVar[frozenset[str]]
    _key: ClassVar[attrgetter[Any]]

    def __init_subclass__(cls) -> None:
        dataclass(init=False, repr=False, eq=False, match_args=False, kw_only=True)(cls)
        cls._forms = Forms(cls)
        cls._defaults = {each.name: each.default for each in fields(cls)}
        for each in fields(cls):
            if each.default_factory is not MISSING:
                cls._defaults[each.name] = made = each.default_factory()
                setattr(cls, each.name, made)
        cls._needed = frozenset(name for name, default in cls._defaults.items() if default is MISSING)
        cls._key = attrgetter(*cls._defaults)

    def __init__(self, /, **given: Any) -> None:
        try:
            self._fill(given)
        except (DoubtError, ValueError):
            from tabterm.judge import judged

            found = judged(type(self), given)
            for name in self._defaults:
                _set(self, name, getattr(found, name))

    def _fill(self, given: dict[str, Any]) -> None:
        """Hold what is plainly right; raises DoubtError or ValueError."""
        forms, defaults = self._forms, self._defaults
        if not self._needed <= given.keys():
            raise DoubtError(given)
        for name, value in given.items():
            fitting = forms[name](value)
            if fitting is not defaults[name]:
                _set(self, name, fitting)
        self.__post_init__()

    def __post_init__(self) -> None:
        """Check the fields together."""

    @classmethod
    def fit(cls, value: Any) -> Any:
        """The form of a field that holds one (`tabterm.forms`)."""
        if isinstance(value, cls):
            return value
        if type(value) is not dict:
            raise DoubtError(value)
        new = cls.__new__(cls)
        cls._fill(new, value)
        return new

    def with_(self, **changes: Any) -> Self:
        """Return a copy with some fields changed, checked like a new one."""
        found = ((name, default, getattr(self, name)) for name, default in self._defaults.items())
        return type(self)(**{name: value for name, default, value in found if value is not default} | changes)

    def __eq__(self, other: object) -> bool:
        return self._key(self) == self._key(other) if type(other) is type(self) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key(self))

    def __repr__(self) -> str:
        found = ((name, default, getattr(self, name)) for name, default in self._defaults.items())
        told = ", ".join(f"{name}={value!r}" for name, default, value in found if value is not default)
        return f"{type(self).__name__}({told})"

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise FrozenInstanceError(f"a {type(self).__name__} never changes, and so does its {name}")

    def __delattr__(self, name: str) -> NoReturn:
        raise FrozenInstanceError(f"a {type(self).__name__} never changes, and so does its {name}")


def field_names(kind: type[Value]) -> tuple[str, ...]:
    """The names of the fields of a value, in order."""
    return tuple(each.name for each in fields(kind))


def read_value(kind: type[T], value: object, *, strict: bool = False) -> T:
    """A value, or a frozen dataclass, of its form in a file.

    Args:
        kind: What it is to be.
        value: What was parsed of the file.
        strict: It is of the program's own writing: no number in quotes, no `true` for 1.

    Raises:
        UnfitError: It cannot be one.
        TabtermError: As one of its parts, or the whole, says.
    """
    try:
        found: T = form_of(kind)(value)
    except (DoubtError, ValueError, TabtermError):
        from tabterm.judge import judged

        found = judged(kind, value, strict=strict)
    return found


def plain(value: Any, *, whole: bool = False, leave_out: Container[str] = ()) -> Any:
    """A value as a file has it: of objects, lists, texts and numbers.

    Args:
        value: A value, or what can be a field of one.
        whole: With the fields that have their default, too.
        leave_out: Names of fields of the value itself that are not written.
    """
    if type(value) in {int, bool, str, type(None)}:
        return value
    if isinstance(value, TextValue | Fraction):
        return str(value)
    if is_dataclass(value):
        told = {}
        kind: Any = type(value)
        for name, default in _defaults_of(kind):
            part = getattr(value, name)
            if (whole or (part is not default and part != default)) and name not in leave_out:
                told[name] = plain(part, whole=whole)
        return told
    if isinstance(value, tuple | list):
        return [plain(each, whole=whole) for each in value]
    if isinstance(value, dict):
        return {name: plain(each, whole=whole) for name, each in value.items()}
    return value.value if isinstance(value, StrEnum) else value


@lru_cache(maxsize=256)
def _defaults_of(kind: Any) -> tuple[tuple[str, Any], ...]:
    return tuple((each.name, each.default) for each in fields(kind))


def compact(value: object) -> str:
    """Plain data as the shortest JSON."""
    return _SHORTEST.encode(value)


_SHORTEST = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))


class TextValue:
    """A value with a short text form (`8.`, `6/8`, `Bb minor`): text in files, a typed object in memory.

    A subclass is a frozen dataclass with `parse` (raising ScoreError) and `__str__`; `PATTERN` is the
    regular expression of the text form that the JSON Schema shows.
    """

    __slots__ = ()

    PATTERN: ClassVar[str] = ".+"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read the text form; raises ScoreError when it is not one."""
        raise NotImplementedError

    @classmethod
    def fit(cls, value: object) -> Self:
        """The form of a field that holds one (`tabterm.forms`); raises ValueError or ScoreError."""
        if isinstance(value, cls):
            return value
        if isinstance(value, str):
            return cls.parse(value)
        raise ValueError(f"expected the text of a {cls.__name__.lower()}, not {value!r}")

    @classmethod
    def __get_pydantic_core_schema__(cls, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_plain_validator_function(
            cls.fit, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "pattern": cls.PATTERN, "title": cls.__name__}


def _read_fraction(value: object) -> Fraction:
    if isinstance(value, Fraction):
        return value
    if isinstance(value, str | int) and FRACTION.match(str(value)):
        return Fraction(value)
    raise ValueError(f"expected a fraction such as '3/2', not {value!r:.40}")


class _Exact(Before):
    """The mark of exact time; the library says what a file holds of it."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "pattern": FRACTION.pattern, "title": "Quarters"}


Quarters = Annotated[Fraction, _Exact(_read_fraction)]
"""Exact musical time, in quarter notes; `3/2` in a file."""

"""Frozen values: the base of every model, and the base of values that are one word of text in a file."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainSerializer, ValidationError, WithJsonSchema
from pydantic_core import core_schema

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue


_GIVEN: set[str] = set()


class Value(BaseModel):
    """A frozen, validated model; `with_` is the one way to get a changed copy.

    `functools.cached_property` may be used for derived facts: a changed copy starts without them.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def model_post_init(self, _context: object, /) -> None:
        """Share one set of the fields that were given, which nobody asks for: a fifth of a note's memory."""
        object.__setattr__(self, "__pydantic_fields_set__", _GIVEN)

    def with_(self, **changes: Any) -> Self:
        """Return a copy with some fields changed, validated like a new one."""
        fields = {name: getattr(self, name) for name in type(self).model_fields}
        return type(self)(**(fields | changes))


FAULTS: Mapping[str, str] = {
    "literal_error": "not one of {expected}",
    "enum": "not one of {expected}",
    "missing": "is missing",
    "extra_forbidden": "not known here",
    "greater_than_equal": "less than {ge}",
    "greater_than": "not more than {gt}",
    "less_than_equal": "more than {le}",
    "less_than": "not less than {lt}",
    "bool_type": "neither true nor false",
    "bool_parsing": "neither true nor false",
    "string_type": "not a text in quotation marks",
    "too_short": "fewer than {min_length}",
    "too_long": "more than {max_length}",
    "string_too_long": "longer than {max_length} characters",
    "string_too_short": "shorter than {min_length} characters",
    "finite_number": "not a finite number",
    "none_required": "must be left out",
}
"""What is wrong with a value, by the type of pydantic's error; others are told by `KINDS`."""

KINDS: Mapping[str, str] = {
    "int": "not a whole number",
    "float": "not a number",
    "dict": "not a table",
    "model": "not a table",
    "tuple": "not a list",
    "list": "not a list",
    "set": "not a list",
    "frozen": "not a list",
    "string": "not a text of the right form",
}
"""The same by the first word of the type."""


def fault_in_words(error: ValidationError) -> tuple[tuple[int | str, ...], str]:
    """Where the first fault of a value is, and what it is, in the words of this program."""
    first = error.errors(include_url=False)[0]
    said, kind = first["msg"], first["type"]
    if kind in {"value_error", "assertion_error"}:
        return first["loc"], said.partition(", ")[2] or said
    ctx = first.get("ctx", {}).items()
    told = {name: f"{value:g}" if isinstance(value, float) else f"{value}".replace("'", "") for name, value in ctx}
    words = FAULTS.get(kind) or KINDS.get(kind.partition("_")[0], "cannot be used")
    return first["loc"], words.format_map(told)


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
    def __get_pydantic_core_schema__(
        cls, source: type[Any], handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        def read(value: object) -> TextValue:
            if isinstance(value, cls):
                return value
            if isinstance(value, str):
                return cls.parse(value)
            raise ValueError(f"expected the text of a {cls.__name__.lower()}, not {value!r}")

        return core_schema.no_info_plain_validator_function(
            read, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"type": "string", "pattern": cls.PATTERN, "title": cls.__name__}


_FRACTION = re.compile(r"^\d{1,9}(/[1-9]\d{0,8})?$", re.ASCII)


def _read_fraction(value: object) -> Fraction:
    if isinstance(value, Fraction):
        return value
    if isinstance(value, str | int) and _FRACTION.match(str(value)):
        return Fraction(value)
    raise ValueError(f"expected a fraction such as '3/2', not {value!r:.40}")


Quarters = Annotated[
    Fraction,
    BeforeValidator(_read_fraction),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": _FRACTION.pattern, "title": "Quarters"}),
]
"""Exact musical time, in quarter notes; `3/2` in a file."""

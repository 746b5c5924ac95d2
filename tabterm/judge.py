"""The library that judges values which are not plainly right, mends or refuses them, and describes what is let in.

Most values are plainly right (`tabterm.forms` sees that), so it is loaded only when one is not.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import TypeAdapter, ValidationError


class UnfitError(ValueError):
    """A value that cannot be.

    Attributes:
        said: What is wrong, in the words of this program.
        where: The steps to it: names of fields and numbers from 0.
        unknown: There is no field of the last name.
    """

    def __init__(self, said: str, where: tuple[int | str, ...] = (), *, unknown: bool = False) -> None:
        super().__init__(said)
        self.said, self.where, self.unknown = said, where, unknown


UNKNOWN = ("unexpected_keyword_argument", "extra_forbidden")

FAULTS: Mapping[str, str] = {
    "literal_error": "not one of {expected}",
    "enum": "not one of {expected}",
    "missing": "is missing",
    **dict.fromkeys(UNKNOWN, "not known here"),
    "greater_than_equal": "less than {ge}",
    "greater_than": "not more than {gt}",
    "less_than_equal": "more than {le}",
    "less_than": "not less than {lt}",
    "bool_type": "neither true nor false",
    "bool_parsing": "neither true nor false",
    "string_type": "not text in quotation marks",
    "too_short": "fewer than {min_length}",
    "too_long": "more than {max_length}",
    "string_too_long": "longer than {max_length} characters",
    "string_too_short": "shorter than {min_length} characters",
    "finite_number": "not a finite number",
    "none_required": "must be left out",
}
"""What is wrong with a value, by the type of the library's error; others are told by `KINDS`."""

KINDS: Mapping[str, str] = {
    "int": "not a whole number",
    "float": "not a number",
    "dict": "not a table",
    "dataclass": "not a table",
    "tuple": "not a list",
    "list": "not a list",
    "set": "not a list",
    "frozen": "not a list",
    "string": "not text of the right form",
}
"""The same by the first word of the type."""


def judged(kind: type, value: object, *, strict: bool = False) -> Any:
    """What the library makes of a value.

    Args:
        kind: Class of a value, or of a frozen dataclass.
        value: Its fields.
        strict: The value came as JSON, and each part must be of the very type: no number in quotes.

    Raises:
        UnfitError: It cannot be one.
        TabtermError: As one of its parts, or the whole, says.
    """
    from pydantic import ValidationError
    from pydantic_core import PydanticSerializationError, to_json

    try:
        if strict:
            return _adapter(kind).validate_json(to_json(value), strict=True)
        return _adapter(kind).validate_python(value)
    except ValidationError as error:
        raise _in_words(error) from None
    except PydanticSerializationError:
        raise UnfitError("a broken character, or nested too deeply") from None


def json_schema(kind: type) -> dict[str, Any]:
    """JSON Schema (2020-12) of the fields of a value."""
    from pydantic.json_schema import GenerateJsonSchema

    class Described(GenerateJsonSchema):
        """Shows a default as a file has it: values that are one word of text as that word."""

        def encode_default(self, dft: Any) -> Any:
            kind: Any = type(dft)
            return _adapter(kind).dump_python(dft, mode="json")

    return _adapter(kind).json_schema(schema_generator=Described)


@lru_cache(maxsize=64)
def _adapter(kind: Any) -> TypeAdapter[Any]:
    from pydantic import TypeAdapter

    return TypeAdapter(kind)


def _in_words(error: ValidationError) -> UnfitError:
    """The first fault of a value in our words."""
    first = error.errors(include_url=False)[0]
    said, kind = first["msg"], first["type"]
    if kind in {"value_error", "assertion_error"}:
        return UnfitError(said.partition(", ")[2] or said, first["loc"])
    ctx = first.get("ctx", {}).items()
    told = {name: f"{value:g}" if isinstance(value, float) else f"{value}".replace("'", "") for name, value in ctx}
    words = FAULTS.get(kind) or KINDS.get(kind.partition("_")[0], "cannot be used")
    return UnfitError(words.format_map(told), first["loc"], unknown=kind in UNKNOWN)

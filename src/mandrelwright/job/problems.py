"""What is wrong with a job file: where, which limit, what to do; in the words of the builder."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from mandrelwright.job.shelf import nearest
from mandrelwright.job.spec import Job
from mandrelwright.job.values import InputError, Keys, Table, Text

LONGEST_SHOWN = 60


@dataclass(frozen=True)
class Problem:
    """One thing that keeps a job from being read."""

    file: str
    line: int
    field: str
    value: str
    limit: str
    remedy: str

    def __str__(self) -> str:
        what = f"{self.field} = {self.value}" if self.value else self.field
        place = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{place}: {what + ' ' if what else ''}{self.limit}. Do: {self.remedy}"


class JobError(ValueError):
    """A job file that cannot be read, with every problem found."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = problems


def field_name(keys: Keys) -> str:
    """The path as a builder counts: ("section", 0, "length") is "section[1].length"."""
    name = ""
    for key in keys:
        name += f"[{key + 1}]" if isinstance(key, int) else f".{key}" if name else key
    return printable(name)


def stated(data: Any, keys: Keys) -> Any:
    """What the file says at ``keys``; None when nothing."""
    for key in keys:
        inside = range(len(data)) if isinstance(data, list) else data
        if not isinstance(inside, (dict, range)) or key not in inside:
            return None
        data = data[key]
    return data


def printable(text: str) -> str:
    """Text of the file as it may be shown: no control characters, shortened."""
    return visible(text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "…")


def visible(text: str) -> str:
    """Text without control characters."""
    return text if text.isprintable() else text.encode("unicode_escape").decode()


def value_shown(value: Any) -> str:
    """A value as it stands in the file, shortened."""
    match value:
        case None:
            return ""
        case str():
            return f'"{printable(value)}"'
        case bool():
            return str(value).lower()
        case dict():
            return "{ … }"
        case list():
            return "[ … ]"
        case _:
            return printable(str(value))


def refusals(error: ValidationError, data: dict[str, Any]) -> list[InputError]:
    """What pydantic reports about ``data``, as limit, remedy and path of keys from the top."""
    return [
        _refusal(detail, data)
        for detail in error.errors(include_url=False)
        if not _only_counts_valid(detail)
    ]


def _only_counts_valid(error: ErrorDetails) -> bool:
    """A list is called too short when its rows are there but wrong; that is said elsewhere."""
    return error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"]


def _refusal(error: ErrorDetails, data: dict[str, Any]) -> InputError:
    keys, missing = _keys(error["loc"], data), error["type"] == "missing"
    context = error.get("ctx", {})
    own = context.get("error")
    if isinstance(own, InputError):
        return InputError(own.limit, own.remedy, keys + own.at)
    if missing:
        keys = (*keys, error["loc"][-1])
        return InputError("is missing", f"add it: {_example(error['loc'])}", keys)
    if error["type"] == "extra_forbidden":
        return InputError("is not a known key here", _nearest_key(error["loc"]), keys)
    if error["type"] in ("union_tag_invalid", "union_tag_not_found"):
        return _unknown_tag(error, keys, context["discriminator"].strip("'"))
    if error["type"] == "literal_error":
        words = context["expected"].replace(" or ", ", ").replace("'", "").split(", ")
        return InputError(f"must be {' or '.join(words)}", _near(error["input"], words), keys)
    limit, remedy = _WORDS.get(error["type"], (error["msg"], "correct the value"))
    return InputError(limit.format(**context), remedy.format(**context), keys)


_WORDS = {
    "int_type": ("must be a whole number", "write digits only: no quotation marks, no decimals"),
    "float_type": ("must be a number", "write it without quotation marks or unit, like 0.5"),
    "finite_number": ("must be a finite number", "write a number, like 0.5"),
    "bool_type": ("must be true or false", "write it without quotation marks, in small letters"),
    "string_type": ("must be text", "put it in quotation marks"),
    "string_too_short": ("must have at least {min_length} characters", "write more"),
    "string_too_long": ("must be at most {max_length} characters", "shorten it"),
    "model_type": ("must be a table", "write its keys in braces or under a [heading]"),
    "model_attributes_type": ("must be a table", "write its keys in braces or under a [[heading]]"),
    "tuple_type": ("must be a list", "write it in [brackets]; rows of tables are headed [[name]]"),
    "too_short": ("must have at least {min_length} entries", "add what is missing"),
    "too_long": ("must have at most {max_length} entries", "leave out the rest"),
    "greater_than_equal": ("must be at least {ge}", "correct the number"),
    "less_than_equal": ("must be at most {le}", "correct the number"),
    "multiple_of": ("must be even", "count again: as many tows run one way as the other"),
}


def _keys(location: tuple[int | str, ...], data: Any) -> Keys:
    """pydantic's location without the tags of unions and the missing last key."""
    keys: Keys = ()
    for key in location:
        if stated(data, (*keys, key)) is not None:
            keys = (*keys, key)
    return keys


def _unknown_tag(error: ErrorDetails, keys: Keys, tag: str) -> InputError:
    words = [word for table in _tables(error["loc"]) for word in _words_of(table, tag)]
    given = error["input"].get(tag)
    limit = "is missing" if given is None else "is not known"
    return InputError(
        f"{limit}; it is one of {', '.join(words)}", _near(given, words), (*keys, tag)
    )


def _near(given: object, words: list[str]) -> str:
    if not isinstance(given, str):
        return f'write it as text, like "{words[0]}"'
    return nearest(given, dict.fromkeys(words))


def _nearest_key(location: tuple[int | str, ...]) -> str:
    key = str(location[-1])
    if len(location) > 1 and key in _by_key(Job):
        return f"it is a table of its own: head it [{key}], or [[{key}]] if it has rows"
    known = [key for table in _tables(location[:-1]) for key in _by_key(table)]
    return nearest(key, dict.fromkeys(known))


def _example(location: tuple[int | str, ...]) -> str:
    """What may be written at a key that is missing."""
    for table in _tables(location[:-1]):
        field = _by_key(table).get(str(location[-1]))
        if field is not None:
            reads = [text.reads() for text in field.metadata if isinstance(text, Text)]
            inner = [_with_keys(table) for table in _inner(field.annotation)][:1]
            said = [field.description] if field.description else []
            return "; ".join([*said, *reads, *inner, "see docs/job.md"])
    return "see docs/job.md"


def _with_keys(table: type[Table]) -> str:
    needed = [key for key, field in _by_key(table).items() if field.is_required()]
    return f"a table with {', '.join(needed)}"


def _tables(location: tuple[int | str, ...]) -> list[type[Table]]:
    """The tables that may stand at a location, from the specification."""
    tables: list[type[Table]] = [Job]
    for key in location:
        if isinstance(key, int):
            continue
        fields = [field for table in tables if (field := _by_key(table).get(key))]
        if fields:
            tables = [inner for field in fields for inner in _inner(field.annotation)]
        else:
            tables = [table for table in tables if key in _words_of(table)]
    return tables


def _by_key(table: type[Table]) -> dict[str, FieldInfo]:
    return {field.alias or name: field for name, field in table.model_fields.items()}


def _inner(annotation: Any) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for part in get_args(annotation):
        yield from _inner(part)


def _words_of(table: type[Table], field: str | None = None) -> list[str]:
    """The words that a table's literal fields (or one of them) take."""
    return [
        word
        for name, info in table.model_fields.items()
        if field in (None, name) and get_origin(info.annotation) is Literal
        for word in get_args(info.annotation)
    ]

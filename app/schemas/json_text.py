"""Reading JSON that others made: UTF-8, a limit on size, no key twice, numbers kept as sent."""

import json
from collections.abc import Sequence

from app.errors import Problem
from app.schemas.problems import refused, shortened

LARGEST_FILE_BYTES = 1_000_000
LONGEST_WHOLE_NUMBER = 300


def text_of(content: bytes) -> str:
    """Decode what was sent; raises BadInput `file_too_big`, `file_empty` or `not_utf8`."""
    if len(content) > LARGEST_FILE_BYTES:
        facts = {"met": len(content), "limit": LARGEST_FILE_BYTES}
        raise refused([Problem("file_too_big", "", facts)])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refused([Problem("not_utf8", "", {"byte": error.start + 1})]) from None
    if not text.strip():
        raise refused([Problem("file_empty", "")])
    return text


def read_json(text: str) -> object:
    """Return the JSON value in `text`; raises BadInput `not_json` or `key_twice`.

    `NaN`, `Infinity` and `1e999` pass here, as floats, so that the schema can name their field.
    """
    try:
        return json.loads(text, object_pairs_hook=_without_repeats, parse_int=_whole_number)
    except json.JSONDecodeError as error:
        facts = {"line": error.lineno, "column": error.colno}
        raise refused([Problem("not_json", "", facts)]) from None
    except RecursionError:
        raise refused([Problem("not_json", "", {"line": 1, "column": 1})]) from None


def _without_repeats(pairs: Sequence[tuple[str, object]]) -> dict[str, object]:
    content: dict[str, object] = {}
    for key, value in pairs:
        if key in content:
            raise refused([Problem("key_twice", shortened(key), {"met": shortened(key)})])
        content[key] = value
    return content


def _whole_number(digits: str) -> int | float:
    # Python refuses to read whole numbers of thousands of digits; as a float they are infinite.
    return int(digits) if len(digits) <= LONGEST_WHOLE_NUMBER else float("inf")

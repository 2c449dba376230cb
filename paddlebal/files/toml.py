"""TOML read key by key, each complaint with its file and field."""

import math
import operator
import sys
import tomllib

from paddlebal.errors import InputError, refuse, shown


class Table:
    """A TOML table read key by key; each complaint names the file and the field.

    tell(error) takes each complaint. If it returns, the reading goes on with nan or '' in the
    place of what is wrong.
    """

    def __init__(self, file, name, data, tell=refuse):
        if not isinstance(data, dict):
            tell(InputError("expected a table of values", file=file, field=name))
            data, tell = {}, lambda error: None  # nothing more to say about what it lacks
        self.file, self.name, self.data, self.seen, self.tell = file, name, data, set(), tell

    def _field(self, key):
        return f"{self.name}.{key}" if self.name else key

    def complain(self, key, problem):
        self.tell(InputError(problem, file=self.file, field=self._field(key)))

    def get(self, key, default=None):
        self.seen.add(key)
        return self.data.get(key, default)

    def table(self, key):
        return Table(self.file, self._field(key), self.get(key, {}), self.tell)

    def tables(self, key):
        rows = self.get(key, [])
        if not isinstance(rows, list):
            self.complain(key, f"expected [[{key}]] tables")
            return []
        names = (f"{self._field(key)}[{i}]" for i in range(1, len(rows) + 1))
        return [
            Table(self.file, name, row, self.tell) for name, row in zip(names, rows, strict=True)
        ]

    def text(self, key, default=None, choices=None):
        value = self.get(key, default)
        if not isinstance(value, str) or (choices and value not in choices):
            allowed = " or ".join(repr(c) for c in choices) if choices else "a text"
            found = "is missing" if value is None else f"is {shown(value)}"
            self.complain(key, f"{found}, expected {allowed}")
            return ""
        return value

    def number(self, key, scale=1.0, default=None, low=None, high=None, above=None):
        """The number at `key` times `scale` to SI; limits are in the file's own unit."""
        value = self.get(key, default)
        if value is None:
            stem = key.rpartition("_")[0]
            near = [k for k in self.data if key.startswith(k) or k.rpartition("_")[0] == stem]
            hint = f" (found {shown(near[0])}: the unit belongs in the name)" if near else ""
            self.complain(key, f"is missing, expected a number{hint}")
            return math.nan
        within = isinstance(value, int | float) and not isinstance(value, bool)
        within = within and abs(value) <= sys.float_info.max
        expected = ["a finite number"]
        for limit, words, breaks in (
            (low, "at least", operator.lt),
            (above, "above", operator.le),
            (high, "at most", operator.gt),
        ):
            if limit is not None:
                expected.append(f"{words} {limit:g}")
                within = within and not breaks(value, limit)
        if not within:
            self.complain(key, f"is {shown(value)}, expected {', '.join(expected)}")
            return math.nan
        return value * scale

    def optional(self, key, scale=1.0, **limits):
        """The number at `key` as `number` reads it, None if it is not stated."""
        return None if self.get(key) is None else self.number(key, scale, **limits)

    def finish(self):
        known = ", ".join(sorted(self.seen))
        for key in sorted(set(self.data) - self.seen):
            self.complain(key, f"is not a known field, expected one of {known}")


def parse_toml(text, file, what):
    """The values in a text of TOML; `what` opens the complaint: 'is not complete, valid ...'."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also an endless whole number
        why = str(error)
        if isinstance(error, RecursionError):
            why = "brackets within brackets too deep"
        elif isinstance(error, tomllib.TOMLDecodeError):
            why += "; words stand in quotation marks, numbers have a decimal point"
        raise InputError(f"{what} not complete, valid TOML ({why})", file=file) from error


def tidy(value):
    """A number for a file: twelve digits, so that 0.28 kg reads 280.0 g."""
    return float(f"{value:.12g}")

"""How the fields of a layout behave: what each is, and whether columns have changed places."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import pairwise

from .framing import Line
from .layouts import LayoutReader, Values
from .limits import NEVER_NS
from .one_line import ColumnsReader
from .printed import Printed
from .roles import RoleFound, refined, roles_of
from .run_together import look_run_together

EARLY_ROWS = 8  # after so many rows it is said what each field is
FIRST_ROWS = 20  # and looked at again, for what was not clear then
FIRST_NS = 5_000_000_000  # or after so long since the first
MIN_ROWS = 3
LOOK_ROWS = 32  # columns are looked at again after so many rows
_N_SWAPPED = 3  # newest rows that must all show it
_N_STEADY = 8  # rows after which the decimals of a column are taken as fixed

_Rows = Sequence[tuple[Line, Values]]


class Behaviour:
    """Watches the rows of one reader. What it says depends on the rows before a look only."""

    def __init__(self, reader: LayoutReader) -> None:
        self._reader = reader
        self.roles: tuple[RoleFound, ...] = (RoleFound(),) * len(reader.names)
        self.decimals: tuple[int | None, ...] = (None,) * len(reader.names)  # where they are always the same
        self.run_together = ""  # the field whose numbers run together
        self.swapped: tuple[int, ...] = ()  # for each place the field that seems to stand there now
        self.due_ns = NEVER_NS  # the first look, when the rows come slowly
        self._n_rows = 0
        self._is_columns = isinstance(reader, ColumnsReader) and len(reader.names) > 1
        self._next_look = EARLY_ROWS
        self._next_roles = EARLY_ROWS
        self._most = [0.0] * len(reader.names)  # the greatest number seen of each field
        self._are_roles_sure = False  # judged by fewer rows, they are judged again
        self._recent: deque[tuple[Line, Values]] = deque(maxlen=FIRST_ROWS)

    @property
    def has_begun(self) -> bool:
        """Whether a row has come."""
        return self._n_rows > 0

    @property
    def newest(self) -> list[tuple[Line, Values]]:
        """The newest rows with their lines."""
        return list(self._recent)

    def take(self, lines: Sequence[Line], rows: Sequence[Values]) -> int | None:
        """Take rows; when a look within them changed something, how many were taken, else None for all."""
        if not self._n_rows and rows:
            self.due_ns = lines[0].at_ns + FIRST_NS
        start = 0
        while self._n_rows + len(rows) - start >= self._next_look:
            end = start + self._next_look - self._n_rows
            self._keep(lines, rows, start, end)
            start = end
            if self.look():
                return start
        self._keep(lines, rows, start, len(rows))
        return None

    def look(self) -> bool:
        """Look at the newest rows; True when something changed."""
        self.due_ns = NEVER_NS
        before = (self.roles, self.run_together, self.swapped)
        if self._n_rows >= self._next_roles or not any(one.role for one in self.roles):
            self._next_roles = max(FIRST_ROWS, 2 * self._n_rows)
            self._find_roles()
        elif self._is_columns:
            self.swapped = self._find_swap()
        self._next_look = self._next_roles
        if self._is_columns:
            self._next_look = min(self._next_roles, self._n_rows + LOOK_ROWS)
        if self._n_rows < EARLY_ROWS:  # of a slow board: with each row more is known
            self._next_look = self._next_roles = self._n_rows + 1
        return before != (self.roles, self.run_together, self.swapped)

    def _keep(self, lines: Sequence[Line], rows: Sequence[Values], start: int, end: int) -> None:
        self._n_rows += end - start
        begin = max(start, end - FIRST_ROWS)
        self._recent.extend(zip(lines[begin:end], rows[begin:end], strict=True))

    def _find_roles(self) -> None:
        if len(self._recent) < MIN_ROWS:
            return
        printed = self._printed()
        reader = self._reader
        rows = [row for _, row in self._recent]
        columns = list(zip(*rows, strict=True))
        at_ns = [line.at_ns for line, _ in self._recent]
        most = [max((one.decimals for one in column), default=0) for column in printed] if printed else None
        after = roles_of(reader.names, reader.units, columns, at_ns, decimals=most)
        was_sure, self._are_roles_sure = self._are_roles_sure, self._n_rows >= FIRST_ROWS
        self._most = [
            max(most, *filter(None, column), 0.0) for most, column in zip(self._most, columns, strict=True)
        ]
        after = tuple(
            old if old.role == "clock" and _rises(column) else new
            for old, new, column in zip(self.roles, after, columns, strict=True)
        )  # lines that were late all together make no clock less of one
        self.roles = refined(self.roles, after, self._most) if was_sure else after
        if not printed:
            return
        together = [
            name for name, column in zip(reader.names, printed, strict=True) if look_run_together(column)
        ]
        self.run_together = together[0] if together else ""
        if not was_sure and len(self._recent) >= _N_STEADY:
            self._expect(printed)

    def _expect(self, printed: Sequence[Sequence[Printed]]) -> None:
        """From here on columns have the decimals that they had so far."""
        decimals = [{one.decimals for one in column if one.value is not None} for column in printed]
        self.decimals = tuple(next(iter(one)) if len(one) == 1 else None for one in decimals)
        points = tuple(bool(one) for one in self.decimals)
        is_known = None not in self.decimals and any(points) and not all(points)
        if isinstance(self._reader, ColumnsReader) and is_known:
            self._reader.expect_points(points)

    def _printed(self) -> list[list[Printed]]:
        """The newest rows as printed, field by field; none for records, which no single line holds."""
        if not self._reader.is_one_line:
            newest = self._reader.newest()
            return [[field] for field in newest] if newest is not None else []
        rows = [self._reader.read(line.text) for line, _ in self._recent]
        return [list(column) for column in zip(*(row for row in rows if row is not None), strict=True)]

    def _find_swap(self) -> tuple[int, ...]:
        """Whether the newest rows show the columns in other places: then which stands where."""
        places = self._swapped_decimals()
        return places or self._swapped_index()

    def _swapped_decimals(self) -> tuple[int, ...]:
        known = [one for one in self.decimals if one is not None]
        if len(known) < len(self.decimals) or len(set(known)) == 1:
            return ()
        places: tuple[int, ...] = ()
        for line, row in [*self._recent][: -_N_SWAPPED - 1 : -1]:
            if None in row:
                return ()
            printed = self._reader.read(line.text)
            found = [one.decimals for one in printed or ()]
            if found == known or sorted(found) != sorted(known):
                return ()
            places = places_of(known, found)
        return places

    def _swapped_index(self) -> tuple[int, ...]:
        """A running number that runs in another column now."""
        indexes = [i for i, one in enumerate(self.roles) if one.role == "index"]
        if len(indexes) != 1:
            return ()
        rows = [row for _, row in [*self._recent][-_N_SWAPPED - 2 :]]
        running = [i for i in range(len(self.roles)) if _runs([row[i] for row in rows])]
        if len(running) != 1 or running == indexes:
            return ()
        places = list(range(len(self.roles)))
        a, b = indexes[0], running[0]
        places[a], places[b] = b, a
        return tuple(places)


def places_of(known: Sequence[int], found: Sequence[int]) -> tuple[int, ...]:
    """For each place the field, of those not placed yet, that is printed with so many decimals."""
    left = list(range(len(known)))
    places = []
    for i, decimals in enumerate(found):
        fits = [one for one in left if known[one] == decimals]
        place = i if i in fits else fits[0]
        left.remove(place)
        places.append(place)
    return tuple(places)


def _rises(numbers: Sequence[float | None]) -> bool:
    known = [one for one in numbers if one is not None]
    return all(a < b for a, b in pairwise(known))


def _runs(numbers: Sequence[float | None]) -> bool:
    known = [one for one in numbers if one is not None]
    return len(known) > _N_SWAPPED and all(b - a == 1 for a, b in pairwise(known))

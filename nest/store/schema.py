"""The tables of the ledger, as named migrations; the last one's number is the schema's version.

Nothing is ever changed or removed: triggers refuse it. A balance is the sum of movements, and a trigger keeps it from
going below zero, so no program that writes through SQLite can take out what is not there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.stock import Act, MoveKind, RemakeReason

if TYPE_CHECKING:
    from collections.abc import Iterable
    from enum import StrEnum

APPLICATION_ID = 0x4E535431
"""Marks the file as a ledger of ours (SQLite's `application_id`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Migration:
    """One step of the schema, by name, as single statements."""

    name: str
    statements: tuple[str, ...]


def _words(kinds: Iterable[StrEnum]) -> str:
    return ", ".join(f"'{kind.value}'" for kind in kinds)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


FIRST_ACTS = _words(act for act in Act if act not in (Act.ORDER, Act.CANCEL))
"""The acts of the first tables; later ones are added by migrations."""
ACTS_WITH_ORDERS = f"{FIRST_ACTS}, 'order', 'cancel'"


TABLES = (
    """CREATE TABLE ledger (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  id TEXT NOT NULL CHECK (length(id) = 32),
  unit TEXT NOT NULL CHECK (unit IN ('mm', 'in')),
  currency TEXT NOT NULL CHECK (currency <> '')
) STRICT""",
    f"""CREATE TABLE booking (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  act TEXT NOT NULL CHECK (act IN ({FIRST_ACTS})),
  day TEXT NOT NULL CHECK (day IS date(day, '+0 days')),
  at TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%SZ', 'now')),
  reason TEXT NOT NULL DEFAULT '',
  key TEXT CHECK (key <> ''),
  undoes INTEGER UNIQUE REFERENCES booking (id) CHECK (undoes < id),
  CHECK ((act = 'undo') = (undoes IS NOT NULL))
) STRICT""",
    "CREATE INDEX booking_key ON booking (key) WHERE key IS NOT NULL",
    """CREATE TABLE lot (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  booking INTEGER NOT NULL REFERENCES booking (id),
  material TEXT NOT NULL CHECK (material <> ''),
  across INTEGER NOT NULL CHECK (across > 0),
  around INTEGER NOT NULL CHECK (around > 0),
  price INTEGER NOT NULL CHECK (price >= 0),
  received TEXT NOT NULL CHECK (received IS date(received, '+0 days')),
  lot TEXT CHECK (lot <> ''),
  expiry TEXT CHECK (expiry IS date(expiry, '+0 days')),
  per_box INTEGER CHECK (per_box > 0),
  delivery TEXT NOT NULL DEFAULT ''
) STRICT""",
    """CREATE TABLE offcut (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  booking INTEGER NOT NULL REFERENCES booking (id),
  material TEXT NOT NULL CHECK (material <> ''),
  across INTEGER NOT NULL CHECK (across > 0),
  around INTEGER NOT NULL CHECK (around > 0),
  value INTEGER NOT NULL CHECK (value >= 0),
  made TEXT NOT NULL CHECK (made IS date(made, '+0 days')),
  lot TEXT CHECK (lot <> ''),
  expiry TEXT CHECK (expiry IS date(expiry, '+0 days')),
  parent_lot TEXT REFERENCES lot (id),
  parent_offcut TEXT REFERENCES offcut (id),
  sheet TEXT,
  CHECK (parent_lot IS NULL OR parent_offcut IS NULL),
  CHECK (parent_offcut <> id)
) STRICT""",
    f"""CREATE TABLE movement (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  booking INTEGER NOT NULL REFERENCES booking (id),
  kind TEXT NOT NULL CHECK (kind IN ({_words(MoveKind)})),
  lot TEXT REFERENCES lot (id),
  offcut TEXT REFERENCES offcut (id),
  change INTEGER NOT NULL CHECK (change <> 0),
  sheet TEXT,
  CHECK ((lot IS NULL) <> (offcut IS NULL)),
  CHECK (offcut IS NULL OR change IN (-1, 1)),
  CHECK (kind NOT IN ('receipt', 'offcut') OR change > 0),
  CHECK (kind NOT IN ('draw', 'scrap', 'expiry') OR change < 0)
) STRICT""",
    "CREATE INDEX movement_lot ON movement (lot) WHERE lot IS NOT NULL",
    "CREATE INDEX movement_offcut ON movement (offcut) WHERE offcut IS NOT NULL",
    "CREATE INDEX movement_booking ON movement (booking)",
    """CREATE TABLE released (
  booking INTEGER PRIMARY KEY REFERENCES booking (id),
  plan TEXT NOT NULL CHECK (plan <> ''),
  text TEXT NOT NULL CHECK (text <> ''),
  sheet TEXT NOT NULL CHECK (sheet <> ''),
  pieces INTEGER NOT NULL CHECK (pieces >= 0),
  area INTEGER NOT NULL CHECK (area >= 0),
  work INTEGER NOT NULL CHECK (work >= 0)
) STRICT""",
    "CREATE INDEX offcut_booking ON offcut (booking)",
    "CREATE INDEX released_plan ON released (plan)",
    "CREATE INDEX released_text ON released (text)",
    """CREATE TABLE placing (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  booking INTEGER NOT NULL REFERENCES booking (id),
  lot TEXT REFERENCES lot (id),
  offcut TEXT REFERENCES offcut (id),
  place TEXT NOT NULL,
  CHECK ((lot IS NULL) <> (offcut IS NULL))
) STRICT""",
    """CREATE TABLE exposure (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  booking INTEGER NOT NULL REFERENCES booking (id),
  offcut TEXT NOT NULL REFERENCES offcut (id),
  relief INTEGER NOT NULL CHECK (relief > 0),
  day TEXT CHECK (day IS date(day, '+0 days'))
) STRICT""",
    """CREATE TABLE setting (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  booking INTEGER NOT NULL REFERENCES booking (id),
  name TEXT NOT NULL CHECK (name IN ('full_days', 'life_days', 'expiry_days', 'rack_limit')),
  value INTEGER NOT NULL CHECK (value >= 0)
) STRICT""",
    f"""CREATE TABLE remake (
  booking INTEGER PRIMARY KEY REFERENCES booking (id),
  job TEXT NOT NULL CHECK (job <> ''),
  separation TEXT NOT NULL,
  part TEXT NOT NULL DEFAULT '',
  reason TEXT NOT NULL CHECK (reason IN ({_words(RemakeReason)})),
  pieces INTEGER NOT NULL CHECK (pieces > 0),
  cents INTEGER NOT NULL CHECK (cents >= 0),
  sheet TEXT
) STRICT""",
)

VIEWS = (
    "CREATE VIEW standing AS SELECT * FROM booking WHERE id NOT IN (SELECT undoes FROM booking WHERE undoes NOT NULL)",
    """CREATE VIEW lot_now AS SELECT lot.*,
  (SELECT coalesce(sum(change), 0) FROM movement WHERE movement.lot = lot.id) AS on_hand,
  coalesce((SELECT place FROM placing WHERE placing.lot = lot.id AND booking IN (SELECT id FROM standing)
            ORDER BY placing.id DESC LIMIT 1), '') AS place
FROM lot""",
    """CREATE VIEW offcut_now AS SELECT offcut.*,
  (SELECT coalesce(sum(change), 0) FROM movement WHERE movement.offcut = offcut.id) AS on_rack,
  coalesce((SELECT place FROM placing WHERE placing.offcut = offcut.id AND booking IN (SELECT id FROM standing)
            ORDER BY placing.id DESC LIMIT 1), '') AS place,
  (SELECT relief FROM exposure WHERE exposure.offcut = offcut.id AND booking IN (SELECT id FROM standing)
   ORDER BY exposure.id DESC LIMIT 1) AS relief,
  (SELECT day FROM exposure WHERE exposure.offcut = offcut.id AND booking IN (SELECT id FROM standing)
   ORDER BY exposure.id DESC LIMIT 1) AS exposed
FROM offcut""",
)

KEPT = ("ledger", "booking", "lot", "offcut", "movement", "released", "placing", "exposure", "setting", "remake")
KEPT_ORDERS = ("purchase", "arrival")
PRIMARY = {"ledger": "one", "released": "booking", "remake": "booking"}


def append_only(table: str) -> tuple[str, ...]:
    """Return the triggers that refuse to change, remove or replace a row of a table."""
    key = PRIMARY.get(table, "id")
    return (
        f"CREATE TRIGGER {table}_kept BEFORE UPDATE ON {table} "
        f"BEGIN SELECT raise(ABORT, 'the ledger is append-only: no row of {table} is changed'); END",
        f"CREATE TRIGGER {table}_stays BEFORE DELETE ON {table} "
        f"BEGIN SELECT raise(ABORT, 'the ledger is append-only: no row of {table} is removed'); END",
        # INSERT OR REPLACE removes a row without firing a DELETE trigger unless recursive triggers are on
        f"CREATE TRIGGER {table}_first BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key}) "
        f"BEGIN SELECT raise(ABORT, 'the ledger is append-only: no row of {table} is replaced'); END",
    )


GUARDS = (
    """CREATE TRIGGER lot_not_below_zero BEFORE INSERT ON movement WHEN NEW.lot IS NOT NULL
  AND (SELECT coalesce(sum(change), 0) FROM movement WHERE lot = NEW.lot) + NEW.change < 0
BEGIN SELECT raise(ABORT, 'a lot cannot hold less than no sheet'); END""",
    """CREATE TRIGGER offcut_once BEFORE INSERT ON movement WHEN NEW.offcut IS NOT NULL
  AND (SELECT coalesce(sum(change), 0) FROM movement WHERE offcut = NEW.offcut) + NEW.change NOT IN (0, 1)
BEGIN SELECT raise(ABORT, 'an offcut is on the rack once or not at all'); END""",
    """CREATE TRIGGER booked_once BEFORE INSERT ON booking WHEN NEW.key IS NOT NULL
  AND EXISTS (SELECT 1 FROM standing WHERE key = NEW.key)
BEGIN SELECT raise(ABORT, 'booked already'); END""",
    """CREATE TRIGGER booking_in_order BEFORE INSERT ON booking
  WHEN NEW.id > 0 AND NEW.id <= (SELECT coalesce(max(id), 0) FROM booking)
BEGIN SELECT raise(ABORT, 'bookings are numbered in order'); END""",
)

ORDERS = (
    # SQLite cannot alter a CHECK; a wider one leaves all rows valid, so its text may be changed in place
    # (sqlite.org/lang_altertable.html, section 7)
    "PRAGMA writable_schema = ON",
    f"""UPDATE sqlite_schema SET sql = replace(sql, {_quoted(FIRST_ACTS)}, {_quoted(ACTS_WITH_ORDERS)})
WHERE type = 'table' AND name = 'booking'""",
    "PRAGMA writable_schema = RESET",
    """CREATE TABLE purchase (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  booking INTEGER NOT NULL REFERENCES booking (id),
  material TEXT NOT NULL CHECK (material <> ''),
  across INTEGER NOT NULL CHECK (across > 0),
  around INTEGER NOT NULL CHECK (around > 0),
  sheets INTEGER NOT NULL CHECK (sheets > 0),
  price INTEGER CHECK (price >= 0),
  due TEXT NOT NULL CHECK (due IS date(due, '+0 days'))
) STRICT""",
    """CREATE TABLE arrival (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  booking INTEGER NOT NULL REFERENCES booking (id),
  purchase TEXT NOT NULL REFERENCES purchase (id),
  lot TEXT REFERENCES lot (id),
  sheets INTEGER NOT NULL CHECK (sheets > 0)
) STRICT""",
    "CREATE INDEX arrival_purchase ON arrival (purchase)",
    """CREATE VIEW purchase_now AS SELECT purchase.*, booking.day AS ordered, purchase.sheets -
  (SELECT coalesce(sum(sheets), 0) FROM arrival
   WHERE arrival.purchase = purchase.id AND arrival.booking IN (SELECT id FROM standing)) AS open
FROM purchase JOIN standing AS booking ON booking.id = purchase.booking""",
    """CREATE TRIGGER arrival_of_open_order BEFORE INSERT ON arrival
  WHEN NEW.sheets > coalesce((SELECT open FROM purchase_now WHERE id = NEW.purchase), 0)
BEGIN SELECT raise(ABORT, 'no more can come in than is on order'); END""",
    *(statement for table in KEPT_ORDERS for statement in append_only(table)),
)

MIGRATIONS = (
    Migration(
        name="first tables",
        statements=(*TABLES, *VIEWS, *(s for table in KEPT for s in append_only(table)), *GUARDS),
    ),
    Migration(name="orders", statements=ORDERS),
)
"""Every step of the schema in order; a ledger at version n has had the first n."""

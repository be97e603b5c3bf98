"""What the room file says of selling: the table ``[selling]``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.room import Selling
from nest.intake.faults import quoted
from nest.intake.keys import MOST_MONEY
from nest.units import M2_PER_SQFT

if TYPE_CHECKING:
    from nest.intake.keys import Keys

M2_PER_RATE = {"rate_per_m2": 1.0, "rate_per_sqft": M2_PER_SQFT, "rate_per_sqin": M2_PER_SQFT / 144.0}
"""Square metres of the area that each key is for."""


def read_selling(keys: Keys) -> Selling:
    """Return what pieces are sold for; a rate is given for one unit of area only."""
    rates = {name: keys.number(name, most=MOST_MONEY) for name in M2_PER_RATE}
    given = [name for name in M2_PER_RATE if name in keys]
    for name in given[1:]:
        keys.note(name, rule=f"must not be given beside {given[0]}", got=quoted(keys.table[name]),
                  remedy="keep one of the two")  # fmt: skip
    selling = Selling(
        rate_per_m2=next((rate / M2_PER_RATE[name] for name, rate in rates.items() if rate is not None), 0.0),
        minimum=keys.number_or("minimum", 0.0),
    )
    keys.finish()
    return selling

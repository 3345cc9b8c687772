"""Shipping notes: the only personal thing a shop keeps, and it can be erased."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import delete, insert, select

from chape.errors import InputError
from chape.shop.tables import SHIPPING_NOTES

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.engine import Connection

    from chape.shop.store import Shop

#: An address has fewer letters.
LONGEST_NOTE = 1000


def write_note(connection: Connection, customer: str, note: str, now: datetime) -> None:
    """Keep a shipping note for a customer, in place of an older one.

    Raises:
        InputError: it is empty or far too long.
    """
    note = note.strip()
    if not note or len(note) > LONGEST_NOTE:
        raise InputError(
            f"found a shipping note of {len(note)} letters",
            mend=f"Write 1 to {LONGEST_NOTE}; chape shop forget erases one",
        )
    connection.execute(delete(SHIPPING_NOTES).where(SHIPPING_NOTES.c.customer == customer))
    connection.execute(insert(SHIPPING_NOTES).values(customer=customer, note=note, written=now))


def note_of(connection: Connection, customer: str) -> str | None:
    """Return a customer's shipping note, None where there is none."""
    query = select(SHIPPING_NOTES.c.note).where(SHIPPING_NOTES.c.customer == customer)
    return connection.execute(query).scalar()


def forget(shop: Shop, customer: str) -> None:
    """Erase a customer's shipping note, also from the database's own files where it is SQLite.

    Backups and exports taken before still hold it; PostgreSQL overwrites it when it next cleans up.

    Raises:
        InputError: there is no note of that customer.
    """

    def erase(connection: Connection) -> int:
        gone = delete(SHIPPING_NOTES).where(SHIPPING_NOTES.c.customer == customer)
        return connection.execute(gone).rowcount

    if shop.change(erase) == 0:
        raise InputError(
            f'there is no shipping note of "{customer}"', mend="Check the customer's reference"
        )
    shop.rewrite()

"""In which currency the amounts of a row are, where they say so themselves ("£85", "EUR 85,50")."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.normalise.amount_forms import CURRENCY
from pipeline.normalise.column_forms import DOLLAR, ColumnForm
from pipeline.normalise.typed import quoted

# Currencies that "$" may stand for, where the shop's own is one of them.
DOLLARS = ("USD", "CAD", "AUD", "NZD")


@dataclass(frozen=True)
class AmountCurrency:
    """
    What the amounts of a file say of their currency.

    Attributes
    ----------
    columns : tuple of str
        Columns of money that say something.
    only : str
        The one currency that all of them name; empty where there is none or more than one. An amount that says
        nothing is in it.
    """

    columns: tuple[str, ...] = ()
    only: str = ""

    def used_sql(self, currency: str) -> str:
        """
        SQL for the currency of a row of `cells`: its currency column, its amounts, the file's, the shop's.

        Parameters
        ----------
        currency : str
            Of the shop; empty for none.
        """
        if not self.columns:
            return f"coalesce(upper(cells.currency), nullif({quoted(currency)}, ''))"
        # A dollar that nobody named stays unnamed, unless the shop counts in one.
        dollar = currency if currency in DOLLARS else ""
        said = ", ".join(_said(column) for column in self.columns)
        used = f"coalesce(upper(cells.currency), {said}, {quoted(self.only or currency)})"
        return f"nullif(replace({used}, '{DOLLAR}', {quoted(dollar)}), '')"

    def several_sql(self) -> str:
        """SQL for whether the amounts of a row name several currencies, and no currency column says which."""
        if len(self.columns) < 2:
            return "false"
        said = ", ".join(_said(column) for column in self.columns)
        return f"cells.currency is null and len(list_distinct([{said}])) > 1"


NAMES_NONE = AmountCurrency()


def currency_of_amounts(columns: Mapping[str, ColumnForm]) -> AmountCurrency:
    """What the columns of money of a file say of their currency."""
    saying = [column for column in columns.values() if column.currencies]
    named = {currency for column in saying for currency in column.currencies}
    return AmountCurrency(tuple(column.name for column in saying), named.pop() if len(named) == 1 else "")


def _said(column: str) -> str:
    return CURRENCY.replace("{c}", f'cells."{column}"')

"""Amounts in minor units."""

from __future__ import annotations

# ISO 4217 currencies whose minor unit is not a hundredth (from memory; the list is short and rarely changes).
MINOR_DIGITS = {
    **dict.fromkeys(
        (
            "BIF",
            "CLP",
            "DJF",
            "GNF",
            "ISK",
            "JPY",
            "KMF",
            "KRW",
            "PYG",
            "RWF",
            "UGX",
            "VND",
            "VUV",
            "XAF",
            "XOF",
            "XPF",
        ),
        0,
    ),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}
USUAL_DIGITS = 2


def minor_digits(currency: str) -> int:
    """Decimal places of a currency; an unnamed one has two."""
    return MINOR_DIGITS.get(currency, USUAL_DIGITS)


def factor_sql(currency: str) -> str:
    """SQL for how many minor units make one major unit of the currency in a SQL expression."""
    groups = {digits: sorted(name for name, d in MINOR_DIGITS.items() if d == digits) for digits in (0, 3)}
    whens = " ".join(
        f"when {currency} in ({', '.join(repr(name) for name in names)}) then {10**d}"
        for d, names in groups.items()
    )
    return f"case {whens} else {10**USUAL_DIGITS} end"

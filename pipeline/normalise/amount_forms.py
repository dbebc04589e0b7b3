"""Amounts and quantities as people type them. Tax is never worked out: an amount is kept as it stands."""

from __future__ import annotations

from pipeline.normalise.form import Form, with_match

_PLAIN = r"[+-]?(\d+(\.\d*)?|\.\d+)"
CODES = ("eur", "gbp", "usd", "chf", "sek", "nok", "dkk", "pln", "czk", "huf", "cad", "aud", "nzd")
_CURRENCY = rf"(?:€|£|\$|euros?|{'|'.join(CODES)})"
_TAX_NAME = r"(?:vat|mwst|btw|tva|tax)"
_TAX = rf"(?:\(?(?:(?:\+|incl?|inkl|ex(?:cl?)?|exkl|zzgl|net(?:to)?|gross|brutto)\.?\s*{_TAX_NAME}?|{_TAX_NAME})\.?\)?)"
# Nothing was charged, whatever the reason.
NOTHING = r"f\.?o\.?c\.?|free(?: of charge)?|n/c|n\.c\.|no charge|nil|goodwill|gratis|kostenlos|gratuit"
_PARTED = r"[ \x{00A0}\x{202F}''’]"  # between thousands, besides the comma or the point
_MINUS = "[-−–]"
_AMOUNT = (
    rf"^(\()?\s*(?:{_TAX}\s*)?({_MINUS})?\s*(?:{_CURRENCY}\s*)*({_MINUS})?\s*(\d[\d.,]*(?:{_PARTED}\d[\d.,]*)*|[.,]\d+)"
    rf"\s*(?:{_CURRENCY}\s*)*({_MINUS})?\s*(?:{_TAX}\s*)?(?:{_CURRENCY}\s*)?(\))?$"
)
# "85,-" has no pence.
_TEXT = r"regexp_replace(lower({c}), '([0-9])[.,](?:--?|–|—)', '\1')"


def _in_words(mark: str, thousands: str) -> str:
    whole = rf"\d+|[1-9]\d{{0,2}}(?:(?:{thousands}|{_PARTED})\d{{3}})+"
    number = rf"(?:{whole})(?:{mark}\d*)?|{mark}\d+"
    value = f"try_cast(replace(regexp_replace(m.v, '{thousands}|{_PARTED}', '', 'g'), '{mark[-1]}', '.') as decimal(18, 4))"
    signs = "length(m.n || m.k || m.z)"
    body = (
        f"case when regexp_full_match(m.v, '{number}') and (m.o = '') = (m.e = '') and {signs} <= 1 "
        f"and not (m.o <> '' and {signs} > 0) "
        f"then case when m.o <> '' or {signs} = 1 then -{value} else {value} end end"
    )
    read = with_match(_TEXT, _AMOUNT, "o n k v z e", body)
    return f"case when regexp_full_match(lower({{c}}), '{NOTHING}') then 0 else {read} end"


PLAIN_AMOUNTS = "decimal point"
POINT = _in_words(r"\.", ",")
COMMA = _in_words(",", r"\.")
MONEY_FORMS = (
    Form(
        PLAIN_AMOUNTS,
        "money",
        f"case when regexp_full_match({{c}}, '{_PLAIN}') then try_cast({{c}} as decimal(18, 4)) end",
    ),
    Form("amounts with a decimal point", "money", POINT),
    Form("amounts with a decimal comma", "money", COMMA),
)

# What an amount says of its currency: an ISO code, "$" for a dollar that nobody named, or null.
CURRENCY = (
    rf"case when regexp_matches(lower({{c}}), '\b({'|'.join(CODES)})\b') "
    rf"then upper(regexp_extract(lower({{c}}), '\b({'|'.join(CODES)})\b', 1)) "
    "when {c} like '%€%' or lower({c}) like '%euro%' then 'EUR' when {c} like '%£%' then 'GBP' when {c} like '%$%' then '$' end"
)
# What an amount says of tax: inc, ex, or null.
TAX_BASIS = (
    r"case when regexp_matches(lower({c}), '\+|\b(ex|excl?|exkl|zzgl|net|netto)\b') and regexp_matches({c}, '\d') then 'ex' "
    r"when regexp_matches(lower({c}), '\b(incl?|inkl|gross|brutto)\b') then 'inc' end"
)

_UNIT = r"(?:x|×|off|pcs?|st|stk|stück|ea|each|m|l|ltr|y|yrs?|years?|jahre?|jaar|ans?)\.?"
_COUNT = with_match(
    "lower({c})",
    rf"^(?:(?:x|×)\s*)?([+-]?(?:\d+(?:\.\d*|,\d{{1,2}}|,\d{{4,}})?|[.,]\d+)|½|¼|¾)\s*(?:{_UNIT})?$",
    "v",
    "case m.v when '½' then 0.5 when '¼' then 0.25 when '¾' then 0.75 when '' then null "
    "else try_cast(replace(m.v, ',', '.') as double) end",
)
_PAIRS = with_match(
    "lower({c})",
    r"^(?:(\d{1,3})\s*)?(pairs?|paar)$",
    "n p",
    "case when m.p <> '' then coalesce(try_cast(m.n as double), 1) * 2 end",
)
NUMBER_FORMS = (
    Form(
        "decimal point",
        "number",
        f"case when regexp_full_match({{c}}, '{_PLAIN}') then try_cast({{c}} as double) end",
    ),
    Form("numbers with units", "number", f"coalesce({_COUNT}, {_PAIRS})"),
)

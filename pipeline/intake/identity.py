"""Identity columns: cleaned, then replaced by keyed pseudonyms, while the rows are in memory."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl
import polars_hash  # noqa: F401 -- registers the namespace `chash`

from pipeline.store.key import WRAPPED, Key

# The same machine, address or technician has the same pseudonym in every file, whatever its column is called.
DOMAINS = {"unit_id": "unit", "serial": "serial", "site_id": "site", "technician": "technician"}
# Stands before a pseudonym where numbers as written may stand too.
PSEUDONYM_MARK = "~"

# What people write when there is nothing to write (common practice, no source); compared after cleaning. Zeros, question
# marks and the like alone too. Two or three letters may be somebody's initials: few of them stand here.
_NOTHING_WRITTEN = """
na n/a none unknown null nil notknown n/k notgiven notrecorded notavailable notreadable unreadable illegible missing
noserial noserialno noserialnumber nonumber noplate noid nolabel nosticker seenote seenotes seeabove asabove various
unbekannt keine keiner unleserlich fehlt k.a. onbekend geen onleesbaar n.v.t. nvt n.b. inconnu aucun aucune illisible
nodata #n/a nan
"""
NOTHING = frozenset((*_NOTHING_WRITTEN.split(), ""))
_NOTHING_BUT = r"^(?:0+|\?+|\.+|/+|x{2,}|\*+|#+)$"
_SPACES_AND_HYPHENS = r"[\s\u00ad\u2010-\u2015\u2212_-]+"

_BYTES = 9  # of the HMAC; 12 characters, of which a hundred million collide with a chance of 1 in 10^6
AREA_LENGTH = 3


def cleaned(text: pl.Series) -> pl.Series:
    """Identity as it is compared: NFKC, no case, no spaces or hyphens; null where it says nothing."""
    clean = _plain(text).str.to_lowercase().str.replace_all(_SPACES_AND_HYPHENS, "")
    if _has_more_than_ascii(clean):
        clean = clean.str.replace_all("ß", "ss", literal=True)
    return _where(clean, ~clean.is_in(NOTHING) & ~clean.str.contains(_NOTHING_BUT))


def pseudonyms(clean: pl.Series, domain: str, key: Key) -> pl.Series:
    """
    Keyed pseudonyms of cleaned identities: 12 characters each.

    The first 9 bytes of HMAC-SHA-256 in base64url. Null stays null.
    """
    hashed = _short(keyed_hash(pl.lit(f"{domain}:") + pl.col(clean.name), key))
    names = clean.to_frame().select(hashed.alias(clean.name)).to_series()
    for wrap in key.wraps:
        names = wrapped_pseudonyms(names, wrap)
    return names


def wrapped_pseudonyms(names: pl.Series, wrap: str) -> pl.Series:
    """Pseudonyms put through one more key: equal ones stay equal, and the keys before it alone tell nothing more."""
    hashed = _short(_hmac(pl.lit(WRAPPED.decode()) + pl.col(names.name), wrap))
    return names.to_frame().select(hashed.alias(names.name)).to_series()


def _short(hashed: pl.Expr) -> pl.Expr:
    """Twelve characters of a hash, in base64 as it may stand in a file name or an address."""
    short = hashed.str.head(2 * _BYTES).str.decode("hex").bin.encode("base64")
    return short.str.replace_all("+", "-", literal=True).str.replace_all("/", "_", literal=True)


def keyed_hash(text: pl.Expr, key: Key) -> pl.Expr:
    """HMAC-SHA-256 of a text, as 64 hexadecimal digits; the wraps of the key are not in it."""
    return _hmac(text, key.text)


def wrapped_digests(digests: pl.Series, wrap: str) -> pl.Series:
    """Digests of rows put through one more key; they keep their length."""
    hashed = _hmac(pl.lit(WRAPPED.decode()) + pl.col(digests.name), wrap)
    length = pl.col(digests.name).str.len_chars()
    return digests.to_frame().select(hashed.str.head(length).alias(digests.name)).to_series()


def _hmac(text: pl.Expr, key: str) -> pl.Expr:
    hashed: pl.Expr = text.chash.hmac_sha256(key=key)  # type: ignore[attr-defined]
    return hashed


def identity(cells: Sequence[pl.Series], domain: str, key: Key) -> pl.Series:
    """
    Pseudonyms of an identity made from one or several cells; null where none of them says anything.

    Parameters
    ----------
    cells : sequence of series of text
        One per header the identity is made from, of equal length.
    domain : str
        What is identified; equal values of different domains have unlike pseudonyms.
    key : Key
        The store's key.
    """
    parts = [cleaned(cell).alias(str(number)) for number, cell in enumerate(cells)]
    if len(parts) == 1:
        return pseudonyms(parts[0], domain, key)
    known = pl.any_horizontal(pl.all().is_not_null())
    joined = pl.concat_str(pl.all().fill_null(""), separator="|")
    return pseudonyms(
        pl.DataFrame(parts).select(pl.when(known).then(joined).alias("0")).to_series(), domain, key
    )


def area(postcode: pl.Series) -> pl.Series:
    """Coarse part of a postcode: its first three letters or digits, in capitals."""
    letters = _plain(postcode).str.to_uppercase().str.replace_all(r"[^\p{L}\p{Nd}]", "")
    says_something = ~letters.str.to_lowercase().is_in(NOTHING) & ~letters.str.contains(_NOTHING_BUT)
    return _where(letters.str.head(AREA_LENGTH), says_something)


def _plain(text: pl.Series) -> pl.Series:
    """NFKC; of ASCII, which most columns are, it is the text itself."""
    return text.str.normalize("NFKC") if _has_more_than_ascii(text) else text


def _has_more_than_ascii(text: pl.Series) -> bool:
    return bool((text.str.len_bytes() != text.str.len_chars()).any())


def _where(text: pl.Series, keep: pl.Series) -> pl.Series:
    return text.to_frame().select(pl.when(keep).then(pl.col(text.name)).alias(text.name)).to_series()

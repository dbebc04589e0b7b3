"""Identity columns: cleaned, then replaced by keyed pseudonyms, while the rows are in memory."""

from __future__ import annotations

import polars as pl
import polars_hash  # noqa: F401 -- registers the namespace `chash`

from pipeline.store.key import Key

# The same machine, address or technician has the same pseudonym in every file, whatever its column is called.
DOMAINS = {"unit_id": "unit", "serial": "serial", "site_id": "site", "technician": "technician"}

# What people write when there is nothing to write; compared after cleaning. Zeros and question marks alone too.
NOTHING = ("", "na", "n/a", "none", "unknown", "null", "nil")
_NOTHING_BUT = r"^(?:0+|\?+|\.+|/+)$"
_SPACES_AND_HYPHENS = r"[\s\u00ad\u2010-\u2015\u2212_-]+"

_CLEAN_BYTES = 9  # of the HMAC; 12 characters, of which a hundred million collide with a chance of 1 in 10^6
AREA_LENGTH = 3


def cleaned(text: pl.Expr) -> pl.Expr:
    """Identity as it is compared: NFKC, no case, no spaces or hyphens; null where it says nothing."""
    clean = (
        text.str.normalize("NFKC")
        .str.to_lowercase()
        .str.replace_all("ß", "ss", literal=True)
        .str.replace_all(_SPACES_AND_HYPHENS, "")
    )
    return pl.when(~clean.is_in(NOTHING) & ~clean.str.contains(_NOTHING_BUT)).then(clean)


def pseudonym(clean: pl.Expr, domain: str, key: Key) -> pl.Expr:
    """
    Keyed pseudonym of a cleaned identity: 12 characters.

    The first 9 bytes of HMAC-SHA-256 in base64url. Null stays null.
    """
    return (
        keyed_hash(pl.lit(f"{domain}:") + clean, key)
        .str.head(2 * _CLEAN_BYTES)
        .str.decode("hex")
        .bin.encode("base64")
        .str.replace_all("+", "-", literal=True)
        .str.replace_all("/", "_", literal=True)
    )


def keyed_hash(text: pl.Expr, key: Key) -> pl.Expr:
    """HMAC-SHA-256 of a text, as 64 hexadecimal digits."""
    hashed: pl.Expr = text.chash.hmac_sha256(key=key.text)  # type: ignore[attr-defined]
    return hashed


def identity(cells: list[pl.Expr], domain: str, key: Key) -> pl.Expr:
    """Pseudonym of an identity made from one or several cells; null where none of them says anything."""
    parts = [cleaned(cell) for cell in cells]
    if len(parts) == 1:
        return pseudonym(parts[0], domain, key)
    joined = pl.concat_str([part.fill_null("") for part in parts], separator="|")
    known = pl.any_horizontal([part.is_not_null() for part in parts])
    return pseudonym(pl.when(known).then(joined), domain, key)


def area(postcode: pl.Expr) -> pl.Expr:
    """Coarse part of a postcode: its first three letters or digits, in capitals."""
    letters = postcode.str.normalize("NFKC").str.to_uppercase().str.replace_all(r"[^\p{L}\p{Nd}]", "")
    kept = letters.str.head(AREA_LENGTH)
    nothing = letters.str.to_lowercase().is_in(NOTHING) | letters.str.contains(r"^0+$")
    return pl.when(~nothing).then(kept)

"""
The same things as in scrub_patterns, as people write them in a hurry: in small letters, without a space, digit by digit.

Each pattern comes with the quick look that passes most texts by. Groups named `keep`, `name` and `town` mean what they
mean there.
"""

from __future__ import annotations

import re

# Letters that British postcodes begin with (from memory); only they are taken for one where nothing else says so.
_AREAS = (
    "ab|al|b|ba|bb|bd|bh|bl|bn|br|bs|bt|ca|cb|cf|ch|cm|co|cr|ct|cv|cw|da|dd|de|dg|dh|dl|dn|dt|dy|e|ec|eh|en|ex|fk|fy|g|gl|gu|ha|hd|hg|"
    "hp|hr|hs|hu|hx|ig|ip|iv|ka|kt|kw|ky|l|la|ld|le|ll|ln|ls|lu|m|me|mk|ml|n|ne|ng|nn|np|nr|nw|ol|ox|pa|pe|ph|pl|po|pr|rg|rh|rm|s|sa|se|"
    "sg|sk|sl|sm|sn|so|sp|sr|ss|st|sw|sy|ta|td|tf|tn|tq|tr|ts|tw|ub|w|wa|wc|wd|wf|wn|wr|ws|wv|yo|ze"
)
_INWARD = r"\d(?!st|nd|rd|th|hz|ah|ph|pt|ft|ea)[abd-hjlnp-uw-z]{2}"
_UNITS = "kg|kw|hz|mm|cm|ml|uf|mf|nf|pf|va|dc|ac|kv|ma|pa|rp|up|ok|am|pm|mw|mv|ft|lb|st|nd|rd|th|µf|wh|ah"
_KEEPERS = r"(?:neighbou?r|caretaker|concierge|porter|tenant|landlord|owner|mother|father|mum|dad|son|daughter|wife|husband|friend|agent|reception|office|shop|nachbar\w*|hausmeister|buurman|buurvrouw|voisine?|gardien)"
_DATE = r"\d{1,4}\s?[./-]\s?\d{1,2}\s?[./-]\s?\d{1,4}|\d{1,2}\.?\s?\w{3,9}\.?\s?(?:19|20)\d\d"
_LONG_WEEKDAY = r"(?:mon|tues|wednes|thurs|fri|satur|sun)day|(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch"
_LONG_MONTH = r"(?:january|february|march|april|may|june|july|august|september|october|november|december|jan|feb|mar|apr|jun|jul|aug|sept?|oct|nov|dec)"

# These look like numbers of parts and models too, so they count in running text only.
_FORMS_OF_CODES: tuple[tuple[str, str], ...] = (
    # Postcodes: ze9 9zz, ZE99ZZ, 1012ab
    (rf"\b(?:{_AREAS})\d[a-z\d]?\s{_INWARD}\b", r"\b[a-z]{1,2}\d[a-z\d]?\s\d[a-z]{2}\b"),
    (rf"\b(?:{_AREAS})\d[a-z\d]?{_INWARD}\b", r"\b[a-z]{1,2}\d[a-z\d]?\d[a-z]{2}\b"),
    (rf"\b[1-9]\d{{3}}(?!{_UNITS})[a-z]{{2}}\b", r"\b[1-9]\d{3}[a-z]{2}\b"),
    # A plate in one word, as ab12cde is
    (r"\b[a-z]{2}\d{2}[a-z]{3}\b", r"\b[a-z]{2}\d{2}[a-z]{3}\b"),
)
_FORMS: tuple[tuple[str, str], ...] = (
    # Plates: reg ab12 cde
    (
        r"\b(?P<keep>(?:reg(?:istration)?|plate|kennzeichen|kenteken|blocked by)\b\W*(?:no|nr|number)?\W*)(?=[a-z]*\d)[a-z0-9]{2,4}[\s-]?[a-z0-9]{2,4}\b",
        r"\b(?:reg|registration|plate|kennzeichen|kenteken|blocked by)\b",
    ),
    # Births, cards, numbers that a state gives
    (rf"\b(?P<keep>(?:d\.?o\.?b\.?|date of birth|born|geb(?:oren)?\.?|née? le|geboren op)\W*)(?:{_DATE})", r"\bd\.?o\.?b\b|\bborn\b|\bgeb|date of birth|\bnée?\b"),
    (r"\b(?P<keep>(?:card|visa|mastercard|amex)\s(?:ending|no|number|in|ends)*\s?)\d{4}\b", r"\b(?:card|visa|mastercard|amex)\b.{0,12}\d{4}"),
    (r"\b(?P<keep>(?:ni|nino|n\.i\.|bsn|ssn|passport|steuer-?(?:id|nr)\.?)\b(?:\s(?:no|nr|number))?[\s.:#]*)[a-z]{0,2}\s?\d[\d\s-]{3,}\d\s?[a-z]?\b", r"\b(?:ni|nino|bsn|ssn|passport|steuer.?(?:id|nr))\b.{0,12}\d"),
    (r"\b(?:[0-9a-f]{2}[:-]){5}[0-9a-f]{2}\b", r"(?:[0-9a-f]{2}[:-]){5}"),
    # Where: degrees, three words, flats, streets in small letters
    (r"-?\b\d{1,2}\.\d{4,},\s*-?\d{1,3}\.\d{4,}", r"\d\.\d{4,},\s*-?\d{1,3}\.\d{4}"),
    (r"///\s?\w+\.\w+\.\w+", r"///"),
    (
        r"\b(?:flat|apartment|apt|unit|room|wohnung|appartement)\s*\d+[a-z]?,?\s+(?:[\w'’-]+\s+){1,3}(?:house|court|lodge|mansions?|buildings?|tower|hall|point|heights|wharf|haus|residence)\b",
        r"\b(?:flat|apartment|apt|unit|room|wohnung|appartement)\s*\d",
    ),
    (r"\b(?:at|no\.?|nr\.?|number|opposite|next to)\s+\d{1,3}[a-z]?,?\s+(?P<town>(?-i:[A-ZÀ-ÖØ-Þ])[\w'’-]{2,})", r"\b(?:at|no|nr|number|opposite|next to)\b\.?\s+\d{1,3}[a-z]?,?\s+\pL"),
    (r"\b[a-zäöüß-]{4,}(?:straße|strasse|straat|gasse|gracht|allee|laan)\s+\d{1,4}\s?[a-z]?\b", r"(?:straße|strasse|straat|gasse|gracht|allee|laan)\s+\d"),
    # Ways in: alarm 1 2 3 4, ks 4711, c4711y on gate, neighbour has key, wlan pw
    (r"\b(?P<keep>(?:alarm|gate|key\s?safe|key\s?box|lock\s?box|pin|keypad|entry)(?:\s(?:code|no|is))*[\s:=]*)\d(?:[\s-]\d){2,5}\b", r"\b(?:alarm|gate|key\s?safe|key\s?box|lock\s?box|pin|keypad|entry)\b.{0,10}\d[\s-]\d[\s-]\d"),
    (r"\b(?P<keep>ks\s?[:#]?\s?)\d{3,6}\b", r"\bks\s?[:#]?\s?\d{3}"),
    (r"(?<![\w.,-])[a-z]\d{3,8}[a-z](?P<keep>\s(?:for|on|at|opens?|to)\s(?:the\s)?(?:gate|door|key\s?safe|alarm|entry)\b)", r"[a-z]\d{3,8}[a-z]\s\w+\s"),
    (rf"\b{_KEEPERS}\b[^.;,]{{0,30}}?\b(?:has|have|holds|keeps|got|hat|heeft)\s+(?:the\s|a\s|spare\s|den\s|de\s)*(?:keys?|schlüssel|sleutels?)\b", r"\b(?:keys?|schlüssel|sleutels?)\b"),
    (r"\b(?P<keep>(?:wlan|wi-?fi|pw|pwd|passwor[dt]|wachtwoord|mot de passe|passphrase)\b(?:\s(?:pw|code|key|is|password))*[\s:=]*)(?=\w*\d)\w{4,}", r"\b(?:wlan|wi-?fi|pwd?|passwor[dt]|wachtwoord|mot de passe)\b.{0,14}\d"),
    # Absence: hols till 14th, back 12 May, out all day Wednesday
    (r"\bhols\b[^.;,]*", r"\bhols\b"),
    (
        rf"\b(?:back|home|out|away|gone|free|available)\s+(?:all day\s+)?(?:(?:on\s+)?(?:{_LONG_WEEKDAY})\b|\d{{1,2}}(?:st|nd|rd|th)?\s{_LONG_MONTH}\b)(?:\s?(?:-|to|until|till?|or|and)\s?(?:{_LONG_WEEKDAY}|\d{{1,2}}(?:\s{_LONG_MONTH})?))*",
        rf"\b(?:back|home|out|away|gone|free|available)\s+(?:all day\s+)?(?:on\s+)?(?:{_LONG_WEEKDAY}|\d{{1,2}}(?:st|nd|rd|th)?\s\pL)",
    ),
    # Who: family and signor in short, somebody spoken to
    (r"\b(?P<keep>(?:fam(?:ily|ilie|ille)?|sig(?:ra|na)?|pani)\b\.?\s+(?:(?:van|von|der|den|de|di|la|du|ter|ten|zu|'t)\s+)*)(?P<name>(?-i:[A-ZÀ-ÖØ-Þ])[\w'’-]+)", r"\b(?:fam(?:ily|ilie|ille)?|sig(?:ra|na)?|pani)\b\.?\s+\pL"),
    (r"\b(?:spoke|speak|spoken|talk(?:ed)?)\s(?:to|with)\s+(?P<town>[\w'’-]{4,})", r"\b(?:spoke|speak|spoken|talk|talked)\s(?:to|with)\s"),
)  # fmt: skip

_AMONG_PARTS = tuple(re.compile(form, re.IGNORECASE) for form, _ in _FORMS)
WRITTEN_OTHERWISE = {
    "part": _AMONG_PARTS,
    "full": (*(re.compile(form, re.IGNORECASE) for form, _ in _FORMS_OF_CODES), *_AMONG_PARTS),
}
LOOKS_WRITTEN_OTHERWISE = "(?i)" + "|".join(look for _, look in (*_FORMS_OF_CODES, *_FORMS))
# Texts without one of these have none of the forms above: most are passed by.
MAY_BE_WRITTEN_OTHERWISE = re.compile(
    r"\d|///|day\b|tag\b|mittwoch|hols|key|schlüssel|sleutel|sp[eo]a?k|talk|fam|sig|pani", re.IGNORECASE
)

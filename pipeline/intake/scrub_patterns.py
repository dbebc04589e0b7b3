"""
What looks like a person, a number to reach one, an address or a way in, as patterns of four languages.

A group named `keep` stays beside the mark of removal; in groups named `name` and `two` a name of at least one or
two words comes first.
"""

from __future__ import annotations

import re
from typing import Literal

# light: texts that are numbers by nature (part numbers, models, fault codes). part: names of parts, which may
# hold a part number. full: everything people write in words.
Care = Literal["light", "part", "full"]

_NAME = r"(?:[^\W\d_][\w'’.-]*)"
_CAPITAL = r"(?:[A-ZÀ-ÖØ-Þ][\w'’.-]*)"
BETWEEN_WORDS = "van von der den de la le di da ter ten zu 't"
_BETWEEN = rf"(?:(?:{BETWEEN_WORDS.replace(' ', '|')})\s+)*"
# They end a name where everything is written in capitals.
SMALL_WORDS = (
    "a an the and or is was are has had have says said reports reported hears called calls rang wants will would can not no in out at on to "
    "for from with by back when while after before machine unit appliance call called visit job again still now today und ist hat sagt meldet "
    "nicht kein en heeft zegt niet geen et est dit ne pas"
)

EMAIL = re.compile(r"[\w.+%-]+\s?(?:@|\(at\)|\[at\])\s?[\w-]+(?:\.[\w-]+)+", re.IGNORECASE)
WEB = re.compile(r"(?:https?://|www\.)\S+", re.IGNORECASE)

# After these a name follows whatever its case.
TITLE = re.compile(
    r"\b(?P<keep>(?:Mrs?|(?<!\d)(?<!\d )Ms|Herrn?|Frau|Dhr|Mevr(?:ouw)?|Meneer|Mme|Mlle|Monsieur|Madame)\b\.?\s+)"
    rf"(?P<name>{_BETWEEN}{_NAME}(?:\s+(?:&|and|und|en|et)\s+(?:Mrs?|Ms|Frau|Herr)\b\.?)?(?:\s+{_BETWEEN}(?-i:{_CAPITAL}))*)",
    re.IGNORECASE,
)
# After these only a capital letter makes a name: they are shorthand for other things as well.
WEAK_TITLE = re.compile(
    rf"\b(?P<keep>(?:Dr|Prof|Sra?|Hr|Fr|M|Mw)\.\s*|(?:Dr|Miss|Mister)\s+)(?P<name>{_BETWEEN}{_CAPITAL}(?:\s+{_BETWEEN}{_CAPITAL})*)"
)
ROLE = re.compile(
    r"\b(?P<keep>(?i:cust(?:omer)?|client|tenant|landlord|landlady|lessee|owner|caretaker|neighbou?r|occupier|resident|"
    r"guest|spoke (?:to|with)|ask for|contact|call(?:er)?|name(?:d| is)?|kund(?:e|in)|mieter(?:in)?|vermieter(?:in)?|"
    r"hausmeister|nachbar(?:in)?|klant|huurder|verhuurder|bewoner|buur(?:man|vrouw)|locataire|propriétaire|gardien(?:ne)?|"
    rf"voisine?)(?:\s*[:=-]\s*|\s+))(?P<two>{_CAPITAL}(?:\s+{_BETWEEN}{_CAPITAL})+)"
)
SIGNED = re.compile(
    rf"\b(?P<keep>(?i:cust(?:omer)?|client|tenant|landlord|owner|contact|name|kunde|mieter|klant|huurder|locataire)\s*[:=]\s*)"
    rf"(?P<name>{_NAME}(?:\s+{_CAPITAL})*)"
)

_ACCESS = (
    r"key\s?safe|keysafe|lock\s?box|alarm(?:\s?anlage)?|gates?|door|entry(?:\s?phone)?|access|pass\s?(?:word|code)|pin|"
    r"(?<!fault )(?<!error )(?<!err )code|safe|schlüssel(?:safe|kasten)?|tür|tor|zugang|sleutel(?:kluis|kastje)?|poort|"
    r"deur|toegang|digicode|portail|porte|clés?|boîte à clés|coffre"
)
_LINK = r"(?:[\s:=#,.-]|(?:code|pin|no|nr|number|is|the|at|with|entry|access|box|nummer|ist|lautet|numéro|est)\b)*"
_UNIT = r"(?!\d)(?![.,]\d)(?!\s?(?:v|volts?|ohms?|k?Ω|kohms?|w|kw|watts?|bar|°|c|f|mm|cm|m|a|ma|amps?|hz|l|ml|min|s|sec|psi|%|rpm)\b)(?!\s?[°Ω%])"
ACCESS_BEFORE = re.compile(rf"\b(?P<keep>(?:{_ACCESS})\b{_LINK})\d{{3,8}}[a-z#*]?{_UNIT}", re.IGNORECASE)
ACCESS_AFTER = re.compile(
    rf"(?<![\w.,-])[#*]?\d{{3,8}}[#*]?(?P<keep>\s*(?:for|on|at|opens?|to|für|am|voor|op|pour)\s+(?:the\s+)?(?:{_ACCESS})\b)",
    re.IGNORECASE,
)
KEY_PLACE = re.compile(
    r"\b(?:keys?|schlüssel|sleutels?|clés?)\b[^.;,]{0,12}?\b(?:under|behind|beneath|with|unter|hinter|beim?|onder|achter|bij|"
    r"sous|derrière|chez)\b[^.;,]*",
    re.IGNORECASE,
)
ABSENCE = re.compile(
    r"\b(?:away|on holiday|holidays?|on vacation|abroad|not (?:at )?home|nobody home|house empty|im urlaub|urlaub|verreist|"
    r"nicht zu ?hause|op vakantie|vakantie|niet thuis|en vacances|vacances|absente?)\b(?:[^.;,]|(?<=\d)[.,])*",
    re.IGNORECASE,
)

UK_PLATE = re.compile(r"\b[A-Z]{2}\d{2}\s?[A-Z]{3}\b")
FR_PLATE = re.compile(r"\b[A-Z]{2}-\d{3}-[A-Z]{2}\b")
NL_PLATE = re.compile(
    r"\b(?:[A-Z]{1,3}-\d{2,3}-[A-Z]{1,2}|\d{1,2}-[A-Z]{2,3}-\d{1,2}|[A-Z]{2}-[A-Z]{2}-\d{2})\b"
)
PLATE = re.compile(
    r"\b(?P<keep>(?i:reg(?:istration)?|plate|kennzeichen|kenteken|immatriculation|(?:van|car)(?=\W*(?:(?:no|nr|number)\W*)?"
    # "van K1" is what a firm calls its van; a plate has four letters and digits or more.
    r"(?-i:(?:[- ]?[A-Z0-9]){4})))\b\W*(?i:no|nr|number)?\W*)"
    r"[A-ZÄÖÜ]{1,3}[- ]?[A-Z]{0,2}[- ]?\d{1,4}[- ]?[A-Z]{0,3}\b"
)

_STREET = (
    r"street|road|avenue|lane|drive|close|court|crescent|way|place|gardens?|terrace|grove|square|hill|row|walk|mews|"
    r"boulevard|park|view|rise"
)
EN_ADDRESS = re.compile(
    rf"\b(?:flat\s+\w+,?\s+)?\d{{1,4}}[a-z]?,?\s+(?:(?-i:{_CAPITAL})\s+){{1,3}}(?:{_STREET}|st|rd|ave|ln|dr|cl|ct|cres|blvd)\b\.?"
    r"|\b\d{1,4}[a-z]?\s+(?:[a-z]+\s+){1,2}(?:street|road|avenue|crescent)\b",
    re.IGNORECASE,
)
DE_ADDRESS = re.compile(
    r"\b[A-ZÄÖÜ][\wäöüß.-]*(?:(?:straße|strasse|str\.|gasse|allee|platz|damm|ufer)|(?:\s(?:Straße|Strasse|Str\.|Weg|Allee|Platz)))\s*\d{1,4}\s?[a-z]?\b"
)
NL_ADDRESS = re.compile(
    r"\b[A-Z][\w'-]*(?:straat|laan|plein|gracht|kade|dijk|singel|steeg|hof|weg)\s+\d{1,4}\s?[a-z]?\b"
)
FR_ADDRESS = re.compile(
    r"\b\d{1,4}(?:\s?(?:bis|ter))?,?\s+(?:rue|avenue|av\.|boulevard|bd|chemin|impasse|allée|quai|place)\s+"
    r"(?:(?:de|du|des|la|le|les|l['’]|d['’])\s*)*[\w'’-]+(?:\s+[A-ZÀ-Þ][\w'’-]*)*",
    re.IGNORECASE,
)
_NO_UNIT = r"(?!KG|KW|HZ|MM|CM|ML|UF|MF|NF|PF|VA|DC|AC|KV|MA|PA|RP|UP|OK)"
UK_POSTCODE = re.compile(r"\b(?:GIR|[A-Z]{1,2}\d[A-Z\d]?)\s\d[A-Z]{2}\b")
NL_POSTCODE = re.compile(rf"\b[1-9]\d{{3}}\s?{_NO_UNIT}[A-Z]{{2}}\b")

IBAN = re.compile(r"\b[A-Z]{2}\d{2}(?:\s?[A-Z0-9]{4}){2,7}(?:\s?[A-Z0-9]{1,4})?\b")
ACCOUNT = re.compile(
    r"\b(?P<keep>(?:acc(?:(?:oun)?t)?|a/c|iban|sort code|policy|card|konto|kunden?|customer|cust|client|klant|membership|insurance|"
    r"polis|police|contrat|vertrag)s?[-\s]?(?:no|nr|num(?:ber|mer|éro)?|nummer|ref)?\b[\s.:#=-]*)[A-Z]{0,3}[-\s]?\d[\d\s-]{3,}\d",
    re.IGNORECASE,
)

NUMBER = re.compile(r"(?<![\w.,-])(?:\+|\(?\+?\d)[\d\s()./\u2010-\u2015\u00a0-]{4,}\d(?!\w)")
CALL = re.compile(
    r"(?:tel|phone|ph|mob(?:ile)?|cell|handy|ring|call|text|fax|telefon|telefoon|gsm|bel|anrufen|tél|portable|appeler)\.?\s*(?:no|nr|number|on|:|=|#|op|unter|au)?[\s.:]*$",
    re.IGNORECASE,
)
# Where numbers are grouped by spaces and begin with no 0.
REGIONS = ("DK", "NO", "LU", "ES", "IT", "PL")
_YEAR = r"(?:19|20)\d\d"
DATES = re.compile(
    rf"(?:(?:{_YEAR}[-./]?\d\d(?:[-./]?\d\d)?|\d{{1,2}}([-./])\d{{1,2}}\1(?:{_YEAR}|\d\d))[\s-]*(?:\d{{1,2}}(?!\d))?[\s-]*)+"
)

_LIGHT = (EMAIL, WEB, TITLE, WEAK_TITLE, SIGNED)
PATTERNS: dict[Care, tuple[re.Pattern[str], ...]] = {
    "light": _LIGHT,
    "part": (*_LIGHT, ROLE, ACCOUNT, EN_ADDRESS, DE_ADDRESS, KEY_PLACE, ABSENCE),
    "full": (
        *(*_LIGHT, ROLE, IBAN, ACCOUNT, ACCESS_BEFORE, ACCESS_AFTER, KEY_PLACE, ABSENCE),
        *(EN_ADDRESS, DE_ADDRESS, NL_ADDRESS, FR_ADDRESS, UK_POSTCODE, NL_POSTCODE),
        *(PLATE, UK_PLATE, FR_PLATE, NL_PLATE),
    ),
}

# One quick look that passes most texts by; whatever the patterns above could find has one of these.
LIGHTLY_SUSPICIOUS = (
    r"(?i)@|\(at\)|\[at\]|https?:|www\.|\+\s?\d"
    r"|\b(?:mrs?|ms|miss|mister|herrn?|frau|dhr|mevr(?:ouw)?|meneer|mme|mlle|monsieur|madame|dr|prof|sra?|hr|fr|m|mw)\b\.?\s*\pL"
    r"|\b(?:cust|customer|client|tenant|landlord|owner|contact|name|kunde|mieter|klant|huurder|locataire)\s*[:=]"
)
SUSPICIOUS = (
    LIGHTLY_SUSPICIOUS + r"|\d(?:[\s()./\x{2010}-\x{2015}\x{a0}-]*\d){6}"
    r"|\b(?:tel|phone|ph|mob|mobile|cell|handy|ring|call|text|fax|telefon|telefoon|gsm|bel|anrufen|tél|portable|appeler)\b\D{0,12}\d"
    r"|\b(?:cust|customer|client|tenant|landlord|landlady|lessee|owner|caretaker|neighbou?r|occupier|resident|guest|spoke (?:to|with)|"
    r"ask for|contact|call|caller|named?|kunde|kundin|mieter|mieterin|vermieter|vermieterin|hausmeister|nachbar|nachbarin|klant|huurder|"
    r"verhuurder|bewoner|buurman|buurvrouw|locataire|propriétaire|gardien|gardienne|voisine?|is)\b[\s:=-]+\pL"
    r"|\b(?:keys?|schlüssel|sleutels?|clés?)\b.{0,12}\b(?:under|behind|beneath|with|unter|hinter|bei|beim|onder|achter|bij|sous|derrière|chez)\b"
    r"|\b(?:key ?safe|lock ?box|alarm|alarmanlage|gates?|entry|entryphone|pin|safe|schlüssel\w*|sleutel\w*|door|access|code|pass ?word|pass ?code|"
    r"pass|tür|tor|zugang|poort|deur|toegang|digicode|portail|porte|clés?|boîte|coffre)\b.{0,40}\d{3}"
    r"|\d{3}.{0,20}\b(?:key|lock|alarm|gates?|entry|pin|safe|door|access|code|pass|tür|tor|zugang|poort|deur|toegang|digicode|portail|porte|clé|coffre)"
    r"|\b(?:away|on holiday|holidays?|on vacation|abroad|not (?:at )?home|nobody home|house empty|urlaub|verreist|nicht zu ?hause|vakantie|"
    r"niet thuis|vacances|absente?)\b"
    r"|\b[a-z]{1,3}-?\d{2,4}[- ]?[a-z]{1,3}\b|\b\d{1,2}-[a-z]{2,3}-|\b[a-z]{2}-[a-z]{2}-\d|\b\d{4}\s?[a-z]{2}\b"
    r"|\b[a-z]{2}\d{2}\s?[a-z0-9]{4}|\b[a-z]{1,2}\d[a-z\d]?\s\d[a-z]{2}\b"
    r"|\b(?:reg|registration|plate|van|car|kennzeichen|kenteken|immatriculation)\b.{0,20}\d"
    r"|\d[a-z]?,?\s+\pL.*\b(?:street|road|avenue|lane|drive|close|court|crescent|way|place|gardens?|terrace|grove|square|hill|row|walk|mews"
    r"|boulevard|park|view|rise|st|rd|ave|ln|dr|cl|ct|cres|blvd)\b"
    r"|(?:stra(?:ß|ss)e|str\.|gasse|allee|platz|damm|ufer|weg|straat|laan|plein|gracht|kade|dijk|singel|steeg|hof)\s*\d"
    r"|\d.{0,8}\b(?:rue|avenue|av\.|boulevard|bd|chemin|impasse|allée|quai|place)\s"
    r"|\b(?:acc|account|acct|a/c|iban|sort code|policy|card|konto|kunden?|customer|cust|client|klant|membership|insurance|polis|police|contrat"
    r"|vertrag)s?\b.{0,24}\d|kundennummer|klantnummer"
)

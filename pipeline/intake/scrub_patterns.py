"""
What looks like a person, a number to reach one, an address or a way in, as patterns of four languages.

A group named `keep` stays beside the mark of removal; in groups named `name` and `two` a name of at least one or
two words comes first.
"""

from __future__ import annotations

import re
from typing import Literal

from pipeline.intake.written_otherwise import LOOKS_WRITTEN_OTHERWISE

# light: texts that are numbers by nature (part numbers, models, fault codes). make: names of firms, which may be called
# like a person. part: names of parts, which may hold a part number. full: everything people write in words.
# job: a number of a job, for which a customer's name or telephone may stand.
Care = Literal["light", "make", "job", "part", "full"]

# What stands in place of what is taken out.
REMOVED = "[removed]"

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

# The part before the sign has 64 letters at most (RFC 5321); without a limit a run of letters is gone through from each of them.
EMAIL = re.compile(r"[\w.+%-]{1,128}\s?(?:@|\(at\)|\[at\])\s?[\w-]+(?:\.[\w-]+)+", re.IGNORECASE)
WEB = re.compile(r"(?:https?://|www\.)\S+", re.IGNORECASE)

# After these a name follows whatever its case.
TITLE = re.compile(
    r"\b(?P<keep>(?:Mrs?|(?<!\d)(?<!\d )Ms|Herrn?|Frau|Dhr|Mevr(?:ouw)?|Meneer|Mme|Mlle|Monsieur|Madame)\b\.?\s+)"
    rf"(?P<name>{_BETWEEN}{_NAME}(?:\s+(?:&|and|und|en|et)\s+(?:Mrs?|Ms|Frau|Herr)\b\.?)?(?:\s+{_BETWEEN}(?-i:{_CAPITAL}))*)",
    re.IGNORECASE,
)
# After these only a capital letter makes a name: they are shorthand for other things as well.
WEAK_TITLE = re.compile(
    rf"\b(?P<keep>(?:Dr|Prof|Sra?|Hr|Fr|M|Mw)\.\s*|(?:Dr|Miss|Mister|(?i:fam)\.?|(?i:familie|famille|eheleute))\s+)(?P<name>{_BETWEEN}{_CAPITAL}(?:\s+{_BETWEEN}{_CAPITAL})*)"
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
# Where a code lies or is typed: there letters may stand among the digits. A fault code has at most two letters before it.
ACCESS_CODE = re.compile(
    r"\b(?P<keep>(?:key\s?safe|keysafe|key\s?box|lock\s?box|digicode|pass\s?(?:word|code)|pin|(?:gate|entry|door|alarm|access|safe) code|"
    rf"schlüssel(?:safe|kasten)|sleutel(?:kluis|kastje)|boîte à clés|wifi|wi-fi)\b{_LINK})"
    r"(?=[\w#*]*\d[\w#*]*\d)(?![A-Z]{1,2}\d{1,2}\b)[\w#*]{3,12}",
    re.IGNORECASE,
)
ACCESS_AFTER = re.compile(
    rf"(?<![\w.,-])[#*]?\d{{3,8}}[#*]?(?P<keep>\s*(?:for|on|at|opens?|to|für|am|voor|op|pour)\s+(?:the\s+)?(?:{_ACCESS})\b)",
    re.IGNORECASE,
)
KEY_PLACE = re.compile(
    r"\b(?:keys?|schlüssel|sleutels?|clés?)\b[^.;,]{0,12}?\b(?:under|behind|beneath|with|unter|hinter|beim?|onder|achter|bij|"
    r"sous|derrière|chez)\b[^.;,]*",
    re.IGNORECASE,
)
_WHEN = r"(?:until|till?|for|from|since|on|all|next|this|the|after|before|by|bis|ab|vom|tot|vanaf|jusqu\S*|(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*|\d)"
_MONTH = (
    r"(?:january|february|march|april|may|june|july|august|september|october|november|december|januar|februar|märz|mai|juni|juli|oktober|"
    r"dezember|januari|februari|maart|mei|augustus|janvier|février|mars|avril|juin|juillet|août|septembre|octobre|novembre|décembre|"
    r"jan|feb|mar|apr|jun|jul|aug|sept?|oct|okt|nov|dec|dez)\b\.?"
)
_WEEKDAY = (
    r"(?:(?:mon|tues|wednes|thurs|fri|satur|sun)day|(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch|(?:maan|dins|woens|donder|vrij|zater|zon)dag|"
    r"(?:lun|mar|mercre|jeu|vendre|same)di|dimanche|mon|tue|wed|thu|fri|sat)\b"
)
_NO_TIME = r"(?!\s?(?:h|hrs?|hours?|m|mins?|minutes?|s|secs?|seconds?|std|stunden?|minuten|sekunden|uur|uren|heures?|secondes|days?|cycles?|%)\b)"
_YEAR_BEHIND = r"(?:[\s./,-]{1,2}(?:20)?\d\d\b)?"
_SOME_DAY = (
    rf"(?:\d{{1,2}}(?:st|nd|rd|th)?\.?(?:\s?(?:-|to|bis|tot|au)\s?\d{{1,2}}(?:st|nd|rd|th)?\.?)?\s?(?:of\s)?{_MONTH}{_YEAR_BEHIND}|"
    rf"{_MONTH}(?:\s\d{{1,2}}(?:st|nd|rd|th)?\b)?{_YEAR_BEHIND}|\d{{1,2}}\s?[./-]\s?\d{{1,2}}\b{_NO_TIME}{_YEAR_BEHIND}|\d{{4}}-\d\d-\d\d|"
    rf"\d{{1,2}}(?:st|nd|rd|th)\b|(?:next\s)?{_WEEKDAY}|next (?:week|month)|easter|christmas|ostern|weihnachten|pasen|kerst|pâques|noël)"
)
_REST = r"(?:[^.;,]|[.,](?=\d))*"
ABSENCE = re.compile(
    r"\b(?:(?:on holiday|holidays?|on vacation|abroad|house empty|im urlaub|urlaub|verreist|op vakantie|vakantie|en vacances|vacances)\b"
    rf"|(?:absente?|not (?:at )?home|nobody home|in hospital|nicht zu ?hause|niet thuis)\b(?=\s+{_WHEN})"
    # Things too come away, or are taken away, but not until a day.
    rf"|away\b(?=\s+(?:until|till?|all|next|this (?:week|month)|for (?:a|the|\d|two|three|several)|(?:[a-z]+\s)?(?:the\s)?{_SOME_DAY}))"
    rf"|(?:out|gone|back|returns?|home|in|free|available)\s+(?:again\s+)?(?:until|till?|on|from|after|by|not before)\s+(?:the\s+)?(?={_SOME_DAY}))"
    rf"(?:[^.;,]*?{_SOME_DAY}(?:\s?(?:-|to|until|till?|bis|tot|au)\s?{_SOME_DAY})*|{_REST})",
    re.IGNORECASE,
)

UK_PLATE = re.compile(r"\b[A-Z]{2}\d{2}\s?[A-Z]{3}\b")
FR_PLATE = re.compile(r"\b[A-Z]{2}([- ])\d{3}\1[A-Z]{2}\b")
NL_PLATE = re.compile(
    r"\b(?:[A-Z]{1,3}-\d{2,3}-[A-Z]{1,2}|\d{1,2}-[A-Z]{2,3}-\d{1,2}|[A-Z]{2}-[A-Z]{2}-\d{2})\b"
)
DE_PLATE = re.compile(r"(?<![\w-])[A-ZÄÖÜ]{1,3}-[A-Z]{1,2}\s\d{1,4}[EH]?\b")
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
    r"(?:(?:de|du|des|la|le|les|l['’]|d['’])\s*)*[\w'’-]+(?:\s+(?-i:[A-ZÀ-Þ])[\w'’-]*)*",
    re.IGNORECASE,
)
OTHER_ADDRESS = re.compile(
    r"\b(?:calle|c/|avenida|avda\.?|paseo|via|viale|piazza|corso|ul\.|ulica|al\.|rua|travessa|largo)\s*"
    rf"(?:(?:de|del|della|di|da|do|dos|la|los|las)\s+)*(?-i:{_CAPITAL})(?:\s+(?:(?:de|del|di|da)\s+)?(?-i:{_CAPITAL}))*,?\s+\d{{1,4}}\s?[a-z]?\b"
    r"|\b[A-ZÅÄÖÆØ][\wåäöæø-]*(?:gatan|gata|gade|vej|vägen|veien|allé|stien)\s+\d{1,4}\s?[a-z]?\b",
    re.IGNORECASE,
)
_NO_UNIT = r"(?!KG|KW|HZ|MM|CM|ML|UF|MF|NF|PF|VA|DC|AC|KV|MA|PA|RP|UP|OK)"
UK_POSTCODE = re.compile(r"\b(?:GIR|[A-Z]{1,2}\d[A-Z\d]?)\s\d[A-Z]{2}\b")
# A reading of four digits in capitals ("4700 PF") is a round one, a postcode seldom.
NL_POSTCODE = re.compile(rf"\b[1-9]\d\d(?:[1-9]\s?|0\s?{_NO_UNIT})[A-Z]{{2}}\b")
POSTCODE = re.compile(
    r"\b(?P<keep>(?:post\s?code|zip(?: code)?|postal code|plz|postleitzahl|code postal|cp(?=[\s.:])|eircode)\b[\s.:#=-]*)[A-Z0-9][A-Z0-9 -]{2,7}[A-Z0-9]\b"
    r"|\b(?-i:[ABCEGHJ-NPRSTVXY]\d[A-Z]\s\d[A-Z]\d)\b|(?<![\w.,-])\d{5}-\d{4}(?![\w-])|\b(?-i:[AC-FHKNPRTV-Y]\d[\dW]\s[0-9AC-FHKNPRTV-Y]{4})\b",
    re.IGNORECASE,
)
# A code before the name of a place, as on the continent; a unit or a word behind a number is no place.
POSTCODE_AND_PLACE = re.compile(
    rf"(?<![\w.,-])(?:[A-Z]{{1,2}}-)?(?P<place>\d{{4,5}}|\d{{3}}\s\d{{2}}|\d{{2}}-\d{{3}}|\d{{4}}-\d{{3}})\s+(?P<town>{_CAPITAL})"
)

IBAN = re.compile(r"\b[A-Z]{2}\d{2}(?:\s?[A-Z0-9]{4}){2,7}(?:\s?[A-Z0-9]{1,4})?\b")
ACCOUNT = re.compile(
    r"\b(?P<keep>(?:acc(?:(?:oun)?t)?|a/c|iban|sort code|policy|card|konto|kunden?|customer|cust|client|klant|membership|insurance|"
    r"polis|police|contrat|vertrag|kd)s?\.?[-\s]?(?:no|nr|num(?:ber|mer|éro)?|nummer|ref)?\b[\s.:#=-]*)[A-Z]{0,3}[-\s]?\d[\d\s-]{2,}\d",
    re.IGNORECASE,
)

NUMBER = re.compile(r"(?<![\w.,-])(?:\+|\(?\+?\d)[\d\s()./\u2010-\u2015\u00a0-]{4,}\d(?!\w)")
CALL = re.compile(
    r"(?:tel|phone|ph|mob(?:ile)?|cell|handy|ring|call|text|fax|telefon|telefoon|gsm|bel|anrufen|tél|portable|appeler)\.?(?:\s*back)?\s*(?:no|nr|number|on|:|=|#|op|unter|au)?[\s.:]*$",
    re.IGNORECASE,
)
# Where numbers are grouped by spaces and begin with no 0.
REGIONS = ("DK", "NO", "LU", "ES", "IT", "PL")
_YEAR = r"(?:19|20)\d\d"
DATES = re.compile(
    rf"(?:(?:{_YEAR}[-./]?\d\d(?:[-./]?\d\d)?|\d{{1,2}}([-./])\d{{1,2}}\1(?:{_YEAR}|\d\d))[\s-]*(?:\d{{1,2}}(?!\d))?[\s-]*)+"
)

SERIAL = re.compile(
    r"\b(?P<keep>(?:s/?n|ser(?:ial)?(?:[\s-]?n(?:o|r|umber|ummer))?|seriennummer|serienummer|n[°o] de série|imei|mac)\b\.?[\s:#=-]*)"
    r"(?=[\w/-]*\d[\w/-]*\d[\w/-]*\d)[\w/-]{5,}(?:\s\d{3,})*",
    re.IGNORECASE,
)
# Of running text: a number of a part has not so many digits together, a serial has.
LONG_NUMBER = re.compile(
    r"(?<![\w.,-])(?=[A-Z]{0,4}\d{9})[A-Z]{1,4}\d{9,}[A-Z]{0,4}\b|(?<![\w.,-])\d{9,}[A-Z]{1,4}\b"
)
SPOKEN_EMAIL = re.compile(
    r"\b[\w.-]+\s(?:at|\(at\)|\[at\])\s[\w-]+(?:\s(?:dot|\(dot\)|\[dot\]|punkt|punt|point)\s\w+)+",
    re.IGNORECASE,
)

_LIGHT = (EMAIL, SPOKEN_EMAIL, WEB, TITLE, WEAK_TITLE, SIGNED)
_WAYS_IN = (SERIAL, ACCESS_CODE, ACCESS_BEFORE, ACCESS_AFTER, KEY_PLACE, ABSENCE)
_WHERE = (
    *(EN_ADDRESS, DE_ADDRESS, NL_ADDRESS, FR_ADDRESS, OTHER_ADDRESS),
    *(UK_POSTCODE, NL_POSTCODE, POSTCODE, POSTCODE_AND_PLACE),
    *(PLATE, UK_PLATE, FR_PLATE, NL_PLATE, DE_PLATE),
)
PATTERNS: dict[Care, tuple[re.Pattern[str], ...]] = {
    "light": _LIGHT,
    "make": (*_LIGHT, ROLE, IBAN, ACCOUNT, *_WAYS_IN),
    "job": (*_LIGHT, ROLE, *_WAYS_IN),
    "part": (*_LIGHT, ROLE, IBAN, ACCOUNT, *_WAYS_IN, *_WHERE),
    "full": (*_LIGHT, ROLE, IBAN, ACCOUNT, *_WAYS_IN, *_WHERE, LONG_NUMBER),
}

# Nine digits, or seven that are grouped: eight in a row are the number of a part.
_GAP = r"[\s()./\x{2010}-\x{2015}\x{a0}-]"
_MANY_DIGITS = "|".join(
    [rf"\d(?:{_GAP}*\d){{8}}", *(rf"\d{{{n}}}{_GAP}+\d(?:{_GAP}*\d){{{6 - n}}}" for n in range(1, 7))]
)

# One quick look that passes most texts by; whatever the patterns above could find has one of these.
LIGHTLY_SUSPICIOUS = (
    r"(?i)@|\(at\)|\[at\]|https?:|www\.|\+\s?\d"
    r"|\b(?:mrs?|ms|miss|mister|herrn?|frau|dhr|mevr(?:ouw)?|meneer|mme|mlle|monsieur|madame|dr|prof|sra?|hr|fr|m|mw|fam|familie|famille|eheleute)\b\.?\s*\pL"
    r"|\b(?:cust|customer|client|tenant|landlord|owner|contact|name|kunde|mieter|klant|huurder|locataire)\s*[:=]"
)
SUSPICIOUS = (
    LIGHTLY_SUSPICIOUS + f"|(?:{LOOKS_WRITTEN_OTHERWISE})" + f"|{_MANY_DIGITS}"
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
    r"|\b(?:s/?n|ser|serial\w*|seriennummer|serienummer|imei|mac|wifi|wi-fi|zip|plz|cp|post\s?code|postleitzahl|postal|eircode|key\s?box)\b.{0,16}\d"
    r"|\b(?:code|digicode|pin|pass ?word|pass ?code|schlüssel\w*|sleutel\w*|clés|wi-?fi|(?:key|lock) ?(?:safe|box))\b.{0,40}\d\w*\d"
    r"|n[°o] de série|\bat\)?\]?\s[\w-]+\s.?(?:dot|punkt|punt|point)\b|\d{9}|\d{4,5}-\d{3,4}\b|\d{2}-?\d\d\d?\s+\pL|\d{3}\s\d\d\s+\pL"
    r"|\b[a-zäöü]{1,3}-[a-z]{1,2}\s\d|\b[a-z]{2} \d{3} [a-z]{2}\b|\b[a-z]\d[a-z\d]\s[\da-z]{3,4}\b"
    r"|\b(?:out|gone|back|returns?|home|in|free|available)\s+(?:again\s+)?(?:until|till?|on|from|after|by|not before)\b|in hospital"
    r"|\b(?:calle|c/|avenida|avda|paseo|via|viale|piazza|corso|ul|ulica|al|rua|travessa|largo)\b.*\d|(?:gatan|gata|gade|vej|vägen|veien|allé|stien)\s\d|kd.{0,5}nr"
    r"|(?:stra(?:ß|ss)e|str\.|gasse|allee|platz|damm|ufer|weg|straat|laan|plein|gracht|kade|dijk|singel|steeg|hof)\s*\d"
    r"|\d.{0,8}\b(?:rue|avenue|av\.|boulevard|bd|chemin|impasse|allée|quai|place)\s"
    r"|\b(?:acc|account|acct|a/c|iban|sort code|policy|card|konto|kunden?|customer|cust|client|klant|membership|insurance|polis|police|contrat"
    r"|vertrag)s?\b.{0,24}\d|kunden?\w*\W*\d|klant\w*\W*\d|key\s?(?:safe|box)\b.{0,40}\d"
)

"""Words that stand beside names of people, in four languages."""

from __future__ import annotations

# Before these stands who says, rings or wants it.
_SAYS = """
rang phoned telephoned texted emailed messaged says said asked asks insists claims thinks wants wanted prefers confirmed
agreed refused declined lives moved away sagt sagte meldet ruft rief möchte wünscht zegt zei belde belt wil vraagt dit
appelle veut demande
"""
SAYS = frozenset(_SAYS.split())

# Behind these stands who did it, was asked or is whose.
_BEFORE_NAMES = """
by for with to from see engineer tech technician fitter mechanic monteur techniker technicien ask told met tell contact
ring call per attn chez par voor door bij met bei für durch von an son daughter wife husband mother father mum dad
partner neighbour carer nurse brother sister colleague manager secretary sohn tochter frau mann nachbar zoon dochter man
vrouw buurman fils fille mari femme voisin voisine
"""
BEFORE_NAMES = frozenset(_BEFORE_NAMES.split())

# Behind these stands a name even where everything is in capitals.
_PERSONS = """
son daughter wife husband mother father mum dad partner neighbour carer nurse brother sister ask tell contact by
"""
PERSONS = frozenset(_PERSONS.split())

# Where one of these stands, every noun has a capital.
_GERMAN = """
der die das den dem des ein eine einen einem einer und oder nicht kein keine ist sind mit bei im am zu zum zur auf aus
von für wird hat
"""
GERMAN = frozenset(_GERMAN.split())

"""Words that stand beside names of people, in four languages."""

from __future__ import annotations

# Before these stands who says, rings or wants it.
_SAYS = """
rang phoned telephoned texted emailed messaged says said asked asks insists claims thinks wants wanted prefers confirmed
agreed refused declined lives sagt sagte ruft rief möchte wünscht zegt zei belde belt
appelle
"""
SAYS = frozenset(_SAYS.split())
_SAYS_OF_THINGS = "moved away meldet wil vraagt dit veut demande"
SAYS_OF_THINGS = frozenset(_SAYS_OF_THINGS.split())

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
_ALSO_PERSONS = """
cust customer client tenant landlord landlady lessee owner caretaker occupier resident guest kunde kundin mieter mieterin
vermieter hausmeister klant huurder verhuurder bewoner locataire propriétaire gardien gardienne tel phone mobile
"""
ALSO_PERSONS = frozenset(_ALSO_PERSONS.split())

# Where one of these stands, every noun has a capital.
_GERMAN = """
der die das den dem des ein eine einen einem einer und oder nicht kein keine ist sind mit bei im am zu zum zur auf aus
von für wird hat
"""
GERMAN = frozenset(_GERMAN.split())

"""Ordinary words that people write around a fault, in four languages: with a capital they are still nobody's name.

From memory, without a source. The words of the vocabulary are known besides.
"""

from __future__ import annotations

_COMMON_WORDS = """
unser unsere unseren unserem unserer unseres mein meine meinen meinem meiner euer eure ihr ihre ihren ihrem ihrer sein
seine seinen seinem seiner wessen wem wen welcher welche welches welchen welchem dieser diese dieses diesen diesem jeder
jede jedes jeden jedem letzter letzte letztes letzten erster erste erstes ersten nächster nächste nächstes nächsten
nous vous ils elles notre votre nos vos quel quelle quels quelles cette ces celui dernier dernière premier première
ons onze welke deze laatste eerste volgende wiens
a about above access across action add added adjust adjusted advise advised after again against age air all almost alone
along already also
although always am amp an and annual another any anything appears appliance appliances appointment approx april are area
arm around arrange arrival as ask
asked assembly assume at attend attended attending august auto autumn available away awaiting back bad badly bag ball
bank bar base basic basin basket bath bathroom
bay be bearing bearings because bed bedroom been before beep beeping beeps begin behind being below bench bend bent best
better between
big bill bit black bleed block blocked blow blowing blown blue board body boil boiler boiling bolt book booked booking
bottom bottle bought bowl box brand break
breaker breaking breaks bring broke broken brown brush brushes bubbles bucket build building bulb burn burned burning
burnt busy but button
buttons buy by cabinet cable call called caller calls came can cannot cap cap capacitor care carpet carriage carry case
cash catch caught cause caused causing
ceiling cellar centre chair change changed changing charge charged charging check checked checking checks chip choice
circuit clean cleaned
cleaning clear cleared clearing click clicking clicks clip clips clock clogged close closed closes closing cloth clothes
coat code coffee coil coin cold colour
come comes coming common company complain complained complains complaint complete completed completely compressor
condition connection
connector contact contactor contacts control cook cooker cooking cool cooler cooling copper cord corner correct corroded
corrosion cost could counter
cover covered crack cracked cream cup cupboard current customer customers cut cutting cuts cycle cycles daily damage
damaged damp dangerous dark date
day days dead december deep defective defrost delay deliver delivered delivery dent depot described detergent diagnosed
diagnosis did died different difficult
dirt dirty disconnected dish dishes dishwasher display do does dog done door doors double down drain drainage drained
draining drains draw
drawer dried drill drip drive driver dropped drum dry dryer drying due during dust each early earth easy edge eight
either electric electrical
electrician element eleven empty end ended ends engine engineer enough enter entire entry error errors estimate even
evening every everything exchange exhaust
expensive extra face fail failed failing fails failure fair fall fallen falls family fan far fast fault faults faulty
february feed feel feels feet few
fill filled filling film filter final find fine finish finished fire first fit fitted fitting five fix fixed fixing flap
flash flashed flashes flashing
flat flex flood flooded floor flow fluff foam fold food foot for forgot fork form found four frame free freed freezer
freezing frequent frequently
fridge friday from front frost frozen full fully function funny fuse fuses garage gas gasket gate gave gearbox general
get gets getting give given glass glue go
goes going gone good got grass grease greasy great green grey grill grinding grinds ground guarantee guard guest guests
had hair half hall hand handle hanging happen
happened happens hard has have having head hear heard hears heat heated heater heating heavy held help here high hinge
his her hire hit hold holder
hole holiday home hood hook hose hoses hot hour hours house household how however hum humming ice if immediately in
incorrect indicator initially inlet inner inside
inspect inspected install installation installed installer instead insulation intermittent intermittently into invoice
is issue issues it item items its itself jam
jammed january job jobs join july jump june just keep keeps kept key keys kitchen knob knock knocking knocks know known
lamp landing large last late later
laundry lead leak leaked leaking leaks least leave leaves leaving led left leg legs less let level lever lid lift light
lights like likely lime
limescale line lint list little load loaded local lock locked locking lodged long look looked looking looks loose lost
lot loud low lower machine machines
made main mains maintenance make maker makes making manual many march marked market material maximum may maybe mean
means melted mend mended metal meter microwave middle might
milk minimum minute minutes missing model module moisture monday money month monthly more morning most motor motors
mould mount mounting move moved moves moving
much must narrow near need needed needs neighbour never new next nice night nine no noise noises noisy none normal
normally not note noted nothing
notice noticed november now number october odd of off office often oil old on once one only onto open opened opening
opens operate operates operation or orange order
ordered original other our out outer outlet outside oven over overflow overheats own owner oxide pack paid paint pan
panel paper part parts pass passed past pay
payment people perfect perhaps phase phone piece pieces pin pipe pipes place plastic plate play please plug plugged
plumber plumbing pm point poor pop popping port
position possible possibly power powered premises present press pressed pressing pressure previous previously price
probably probe problem problems
programme program proper properly pull pulled pump pumped pumping pumps push pushed put quality quick quickly quiet
quite quote quoted rack rail ran rattle rattles rattling reach
reached read reading ready really rear reason receipt received recent recently reconnected recommend red refer refit
refitted refund regular relay release released
remote remove removed rental repair repaired repairs repeat replace replaced replacement report reported reports request
required requires reset resistance rest restart restarted result return returned
reverse right ring ringing ripped road roof room rotate rough round rubber run running runs rust rusted rusty safe
safety said same sand saturday save saw say says scale school
screen screw screws seal sealed seals seat second secure see seem seems seen seized send sensor sent separate september
serious service serviced set
seven several shaft shake shakes shaking sharp shed shelf shop short should show showed shower showing shows shut side
sign silent silver since single
sink sister site six sleeve slightly slipped slips slow slowly sludge small smell smells smoke smoking snapped so soap
socket soft some something sometimes soon sorted sound
sounds spare spares spark sparking sparks speed spill spilled spin spinning spins split spoke spot spray spring squeak
squeaking squeal squealing stain stainless stairs
stand standing start started starting starts state stay stays steam steel step stick sticking sticks still stop stopped
stopping stops store straight strange
strip stripped strong stuck suction suds sump sun sunday supplied supply surface suspect swap swapped switch switched
switching switches system table take taken
takes tank tap tape taps temp temperature ten tenant terminal terminals test tested testing tests than that the their
them then there they thick thin thing think third this those
though three through thursday tight tighten tightened time timer times tin to today toilet told tomorrow tone too took
tools top torn touch
towels track transformer trap tray tried trip tripped tripping trips trouble true try trying tub tube tuesday tumble
turn turned turning turns twice
two type unable unblocked unclear under underneath unit until unusual up upper upstairs urgent use used user uses using
usual usually utility vacuum valve
van vent very vibrates vibrating vibration view visit visited visits voltage wait waiting wall want wanted wants warm
warning warranty was wash washed washer washing waste water wax way we
wear wednesday week weekend weekly weeks well went were wet what wheel when where whether which while white who whole
why wide will winter wipe wire wired wires wiring with within without wood
work worked working works worn worse would wrap wrong year years yellow yes yesterday yet you your
er sie es wir ihr man der die das den dem des ein eine einen einem einer eines und oder aber nicht kein keine keinen
mehr noch schon auch nur sehr
ist sind war waren wird werden wurde hat haben hatte kann können muss müssen soll will bei beim mit ohne von vom zu zum
zur auf aus an am im in ins
über unter vor hinter neben zwischen nach seit bis durch für gegen um wenn dann dass weil als wie was wo wer alle alles
viel wenig etwas nichts immer nie oft manchmal jetzt heute
gestern morgen wieder neu neue alt alte defekt kaputt kunde kundin gerät maschine fehler wasser strom tür klappe
geräusch laut leise heiß kalt warm
geprüft getauscht ersetzt gereinigt repariert gemessen läuft dreht pumpt heizt schleudert startet zieht stinkt tropft
undicht verstopft verkalkt
anlage anschluss antrieb ablauf abfluss abpumpen aufheizen anzeige boden deckel dichtung display druck einlauf
elektronik ersatzteil fach feder filter
flusensieb geruch gehäuse heizstab heizung kabel keilriemen knopf kohlen kondensator kühlung lager lampe laufrad
laugenpumpe leitung lüfter motor netzteil platine
programm pumpe relais rohr rückstand salz schalter schaum schlauch schloss schraube sensor sicherung sieb sprüharm
stecker steuerung störung temperatur tank termin trommel thermostat ventil
verriegelung waschmaschine spülmaschine trockner kühlschrank herd backofen wanne welle zulauf zeit rechnung firma
werkstatt montag dienstag mittwoch donnerstag freitag samstag sonntag
januar februar märz mai juni juli oktober dezember
het een en of maar niet geen meer nog al ook alleen zeer is zijn was waren wordt worden werd heeft hebben had kan kunnen
moet moeten zal bij met zonder van
te ten ter naar op uit aan in over onder voor achter naast tussen na sinds tot door tegen om als dan dat omdat hoe wat
waar wie alle alles veel weinig iets niets
altijd nooit vaak soms nu vandaag gisteren morgen weer nieuw nieuwe oud oude kapot defect klant machine apparaat storing
water stroom deur geluid lawaai heet koud
gecontroleerd vervangen gereinigd gerepareerd gemeten draait pompt verwarmt centrifugeert start trekt stinkt druppelt
lekt lekkage verstopt verkalkt
afvoer aansluiting lamp lager leiding motor onderdeel pomp printplaat riem rubber schakelaar slang slot stekker trommel
veer wasmachine vaatwasser droger koelkast oven monteur
maandag dinsdag woensdag donderdag vrijdag zaterdag zondag januari februari maart mei augustus
le la les un une des du de et ou mais ne pas plus encore aussi seulement très est sont était être avoir ont peut doit
chez avec sans à au aux en dans sur sous
avant après depuis par pour contre si quand que qui quoi où tout tous toute rien toujours jamais souvent parfois
maintenant hier demain nouveau nouvelle vieux
machine appareil panne eau courant porte bruit fuite chaud froid client cliente contrôlé remplacé nettoyé réparé mesuré
tourne chauffe essore démarre
pompe moteur filtre joint tuyau courroie roulement tambour carte relais sonde vanne lave linge vaisselle sèche frigo
four lundi mardi mercredi jeudi vendredi samedi dimanche
janvier février avril juin juillet août septembre octobre novembre décembre mars vidange arrivée affichage bouton
fusible résistance thermostat
mr mrs ms miss mister sir madam herr herrn frau dhr mevr mevrouw meneer mme mlle monsieur madame dr prof sra
vv pcb ntc ok lh rh uk eu ac dc led lcd rcd rcbo mcb pat nff ber ext int qty ref max min std ltd gmbh vat inc
agency association branch café centre charity clinic club collective council department foundation group institute library
network organisation organization project school shop society store team trust university workshop verein werkstatt stichting
atelier bibliothèque bibliotheek
"""
COMMON_WORDS = frozenset(_COMMON_WORDS.split())

# Heads of compounds in German and Dutch: a long word that ends in one names a thing.
HEADS = (
    *(
        "pumpe",
        "pomp",
        "dichtung",
        "schlauch",
        "ventil",
        "ventiel",
        "motor",
        "filter",
        "lager",
        "riemen",
        "riem",
        "schalter",
    ),
    *(
        "schakelaar",
        "trommel",
        "heizung",
        "stab",
        "klep",
        "slang",
        "koppeling",
        "kupplung",
        "platine",
        "sensor",
        "fühler",
        "sieb",
    ),
    *(
        "schloss",
        "slot",
        "deckel",
        "deksel",
        "klappe",
        "kondensator",
        "kohlen",
        "welle",
        "rohr",
        "leitung",
        "leiding",
        "kabel",
    ),
    *(
        "stecker",
        "stekker",
        "steuerung",
        "sturing",
        "sicherung",
        "zekering",
        "maschine",
        "automaat",
        "gerät",
        "lampe",
        "lüfter",
    ),
    *(
        "feder",
        "veer",
        "gummi",
        "rubber",
        "scharnier",
        "griff",
        "knopf",
        "knop",
        "anzeige",
        "elektronik",
        "thermostat",
    ),
    *(
        "ung",
        "stunden",
        "apparaat",
        "toestel",
        "speler",
        "batterie",
        "heit",
        "keit",
        "geräusch",
        "geluid",
        "wasser",
        "kasten",
        "fach",
        "bak",
        "korb",
        "rad",
        "wiel",
        "dampfer",
    ),
)

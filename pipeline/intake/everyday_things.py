"""Words for things, their parts and what becomes of them, in four languages: with a capital they are still nobody's name.

From memory, without a source, and completed with words that published repair records showed to be taken for names.
"""

from __future__ import annotations

_MACHINES = """
adapter aerial amplifier antenna appliance audio barbecue battery batteries bicycle bike blanket blender boiler breadmaker brushcutter
burner calculator camcorder camera cameras car carriage cassette cd chainsaw charger chiller chopper clock clippers clothes coffee compact
computer computers console conveyor cordless cooker cooktop curler curlers cutter cylinder dashcam deck decoration dehumidifier desktop
digital dishwasher dock drill drone dryer dvd electronic electronics elevator engine entertainment escalator extractor fan fibre fiber
fireplace flask food forklift freezer fridge fryer game games garden gardening gas gate generator genset granulator griddle grill grinder
guitar hairdryer handheld hardware headphone headphones headset headtorch heater heaters hedge hob hoist hood humidifier ice ipad ipod iron
irons item joiner jug juicer kettle kettles keyboard keypad kiosk kitchen lamp lamps laminator laptop laptops laser lawn lawnmower leaf lift
light lighting loom machine machinery massager memory microphone microscope microwave mini mixer mobile mobility modem monitor motherboard
mouse mower mp3 multi musical network optic optical oven pad pedal percolator phone phones phono photo piano pigtail plotter player portable
power pressure printer printers processor projector pump purifier radio radios radiator range reader receiver record recorder refrigerator
robot robotic rotavator router sander satellite saucepan scanner scooter screen screwdriver sewing shaver shears shredder slicer slow smart
solar soldering soundbar speaker speakers stapler steamer steriliser stereo stove straightener straighteners strimmer surge tablet telephone
television toaster toasters tool tools toothbrush torch toy toys trimmer trimmers tumble tumbler tuner turntable tv typewriter ultrasonic
urn vac vacuum vaccum vehicle ventilator video walkman washer watch webcam welder wheelchair whisk window winder wireless
"""
_PARTS_OF_THEM = """
absorber accumulator actuator adaptor adhesive airbag alarm alternator ammeter armature armrest arrestor assembly assy axle backlight backplate
badge baffle bag balancer ballast barrel barrier base battery bearing bellows belt belts bezel blade blades blower board bobbin body bonnet
bracket brackets brake brakes breaker brush brushes buffer bulb bumper bush bushes bushing buzzer cabin cable cables calliper caliper cam
camshaft canister capacitor carbon carburettor card cartridge casing caster castor cell cells chain chains chassis chip choke chute circuit
clamp clutch collar column compartment component components condenser conduit cone contactor container control controller controls converter
coolant cooling core cotter coupler coupling cover cowl cradle crank crankshaft crossbar crystal current cushion cutout damper dashboard
deflector diaphragm dial diffuser diode dip disc disk dispenser display distributor dowel duct ducting earthing ejector elbow electrode
electrolyte element emergency encoder evaporator exchanger expansion external eyelet fascia fastener feeder felt ferrule filament filter
finger flange flapper float flue flywheel footrest frame friction fuse gauge gear gearbox gears governor grille grip grommet guide gun handle
handset harness hasp head heat heatsink hinge hinges holder hopper hose housing hub idler igniter ignition impeller indicator inductor injector
inner insert insulator interlock inverter isolator jack jet jockey joint joystick journal kit knob lamp latch lead leads lens lenses lever
linkage lithium loom lubricant magnet magnetic magnetron mainboard mains manifold master mast membrane mesh mic mirror module monitoring motor
mount mouthpiece nozzle nut nylon oring o-ring outer outlet output packing paddle panel pawl pedestal peg pinion pipe piston pivot plate plug
plunger pole potentiometer printed probe propeller pulley rack radar rail reel reflector regulator relay relief resistor retainer return
rheostat ribbon rim ring rinse rivet rod roller rollers rotor safety sash sealant sealing selector semiconductor sensing sensor separator
shade shaft shield shim shroud sieve silencer siphon sleeve slide slider socket solder solenoid spacer spanner spark spigot spindle splitter
spool spray spring springs sprocket stainless standby starter stator steering stem stitching stop strainer strap string strip strut stylus
sump suspension swash swivel tab tank tap tape tappet tensioner terminal terminals thermistor thermocouple thermal thermostat thread threads
throttle thrust timer timing tine tip tonearm track transducer transformer transistor transmission tray triac trigger trim tub tube tubing
turbine tyre tyres universal unloader valve valves vane ventilation vibration volume voltage washer waste water weld wheel wheels windscreen
windshield wind wing wiper wire wires wiring wood wool worm yoke
"""
_WHAT_IS_SAID = """
abnormal absent activate adjustment affixed alignment american analogue apart appear appears apply arcing attached automatic aware barely
became bespoke blew bluetooth both brake british brittle broke bubble buffering bump burning canadian chafed charge charger charging chewed
chime chiming christmas classic class cleaner climate cloud component condensation connect connecting connections constant constantly
contamination corrupted crackle crackles crackling cracks crash crashed cross crossed crumbs cursor cutting data decorative deep delta
derailed derailment detached detail detect detected detection didnt difficult difficulty dim dims dis disabled dismantle dismantled dispose
dodgy don dont download drift drop drops dual duct easter erratic european excellent extension extensive exposed factory falty fantastic faulted
fell fidelity file fixers flashes flicker flickering flickers flies flips foreign freezes fried friendly fully fused fumes further genuine
glitch gnawed gouged hanging hairline harsh helpful hello hardly hesitates hi hifi holiday household icon i've i'm i'd i'll idle image immobile
impact inaudible inconclusive indoor industrial infrared initial inoperative insecure inspection instant instrument insufficient intermittant
internal internet interrupted invalid iron isn isnt itself jams kids kill knowledge lagging laser lemon linked listing login longevity loosened
loosely loses loss lubricate lubricated malfunction manufacture massage mechanical mechanism members memory menu misaligned missing mold
monitored mostly mouldy music musical neon noisey non obstructed obstruction occasional occasionally odour oily online operating operational
outdoor outage overcharged overheat overload overloaded oxidised page pair park partially password pats perished physical picture pinched
pitted plates play playing pocket pops potentially preventive privacy programming pulsing punctured query random rearranged rebooted rebuilt
recharge rechargeable recommendation reconnect recondition recycle reflow refurbish refurbished regulator remains reprogram require reseal
reseated resistance restore restored restricted retrieved reuse rewire rewired rewiring rewound roadworthy robotic rubbish scanning scheduled
scratch scratchy screech screeching secondary select sewn sharpen sharpened sharpening sheared shocks shorted simple simply skill slack sleep
snagged snow soldered solution sonic sorry sporadic squeaky staff stalled stalls sticky stitch stitches straightening streaky strimmer stripped
stutter stutters subscription sudden suddenly sunken tension tested thank thankyou thermal threaded tighten tightened tooth torn torque traced
tracking train trapped tree trips tuning turbulence twist twisted unbalanced unclear undetermined unevenly unplugged unrecoverable unresponsive
unscrewed unstable unstuck unsure untested unwind update updated upgrade urgently usage usb vibrates vibrating vibrations vision visible
vision visual visually warm warning warped weak wear weekly wet whine whining whirring windows wifi wi-fi wiped wiping wobble wobbles wobbly
word worn wrapped xmas yearly needle needles hoover link office tower tell spit shampoo baby curling tongs church shirts joke angle landfill
reattached moped she he they granny visitor friend puddle strap inline slipping motorhome lockbox keysafe keybox size lego ticket rewind
"""
_GERMAN = """
abdeckung abgebrochen abgenutzt accu akku akkus anker ansaugung antenne arm aufnahme ausbau auslauf austausch backblech band batterie batterien
bauteil bauteile beleuchtung betrieb bildschirm blech bohrmaschine bremse bremsen bügeleisen bürste chassis dampf daher danke drehknopf drucker
düse einbau einsatz einschalter elektromotor elektromotoren entlüftung ersatz ersatzteile fahrrad fehler fehlercode fernbedienung fernseher
festplatte filter flansch flasche folie führung funktion funktioniert gebläse gehäuse geist geschirrspüler gestell getriebe gewinde glas
gleichrichter grill gummi halter halterung handmixer händler hebel herd ich isolierung kaffee kaffeemaschine kaffeevollautomat kanne kante kette
klappe klemme klinge kolben komplett kompressor kontakt kontakte kontrolle kontrolllampe kopfhörer kupplung kurzschluss laptop laufwerk
lautsprecher leder leuchte lichtmaschine lötstelle lüftung luft magnet magnetron mahlwerk manometer messer mikrowelle mixer motorrad mühle nadel
netzschalter netzstecker netzteil oberer pfanne plötzlich plötzlicher poti prüfung radio rasenmäher rasierer rechner reparatur riemen ring rolle
rollen sauger saugrohr scharnier scheint schere schiene schiff schleifkohlen schneide schnur schraubstock schweißgerät seil seite spannung
spindel spritze spule stab staubsauger stange stator steckdose steckverbindung stift stufe taste tasten tastatur teile tonkopf toaster transformator
trafo treiber typ uhr unterer ventilator verbindung verdampfer verdichter verkleidung verlängerung verschleiß verteiler vorne wackelkontakt wärme
wasserkocher wasserhahn wecker weihnachten welle werkzeug wicklung zahnrad zange zapfwelle zündkerze zündung zylinder tastendruck zufall drücken unser antenne stunden
"""
_DUTCH = """
aandrijving aansluiting aanzetten accu accupack achterlicht advies afgebroken afgeknapt afstandsbediening anders antenne band batterij batterijen
beeld beeldscherm begon bediening bedieningsfout behuizing beugel beurt bij blad blender bleef bleek boormachine borstel borstels bout boutje
breuk brommer buis cd chip computer condensator contact daarna daarvoor dag deksel deze dit doen doet doos draad draadjes draadloos draaiknop
droogkast droogt dus eigenaar einde elektronica elektronisch elke enkel er espresso fabrikant fiets film foutcode foutmelding foutnummer gaat gaf
gebeurde gebeurt gebroken gedaan gedemonteerd geeft gegevens geheugen gehaald gehoord geprobeerd gesoldeerd gespoeld gezien goed grasmaaier haspel
haard heb heel helaas hendel het hierdoor hiermee hij hoes hoofdtelefoon houder huis ik indien ineens inhoud instelling jullie kabeltje kan kapje
keer keerring kern ketting klep klok knipper knippert knopje koffie koffiezet koffiezetapparaat komt koolborstel koolborstels kop kraan krijgt kring
kussen kwam laag laat laden lader lamp lampje lang leeg lens licht liggen ligt lijm locatie los losgelaten lucht luidspreker luikje lukt maakt mechaniek
melding mengt mensen mes met meter mixer moer mogelijk molen moter naaimachine naald niemand niet niets nog omdat onbekend onder ontbreekt oorzaak open
opgeladen opladen oplader oplossing opnieuw orgineel originele paar papier pas plaat plaatje plaats plots plug preventief printer proberen raakt rand
reinigen remblok remmen remschoen reparatie rest riem ring rol rook schaar scherm schijf schroef schuif schuurmachine sindsdien slecht sleepring slijtage
snaar snoer snoertje solderen spanning spel speler spiraal spoel stand stang steek stoel stof stofzuiger stoom strijkijzer stroomkabel stuk tafel tandwiel
tape telefoon televisie terug tijdje toe toestel toets toetsenbord trafo transformator trilt tv uitgevallen uitlaat uurwerk van vandaag vanaf vastgezet vastloper
ventilator verbinding vergrendeling verkoper versleten versterker via vlotter voeding vonk voorkant vrijwilliger vroeger waardoor waarschijnlijk wasbeurt
waterkoker werkt werkte wekker wiel wieltje wij wil zekering zelf zetgroep zich zij zitten zou zouden zuiger zwart iemand groetjes flikkert mijn
"""
_FRENCH = """
accu aiguille alimentation allume ampli ampoule anneau appareil appareils arbre arrêt aspirateur aspiration axe bac bague balai balais baisse bande barre
bas batterie batteries bloc blocage bloque bobine boîtier bouchon bougie bouilloire bras brosse brûleur cadre café cafetière câble capot capteur carburateur
casque casse cassé cassette chaîne changement chargeur charnière clavier clé clignote coffret collage collier compresseur composant condensateur conduit
connecteur contact convoyeur cordon corps cosses couché coupé coupe courroies couteau couvercle cuve débrayage déclenche défaut défectueuse défectueux
démonté démontage dépannage détecteur diagnostic disjoncteur disque douille écran éclairage écrou électrode électronique embout embrayage enceinte engrenage
enroulement enrouleur ensemble entretien essai essieu étanchéité état fer ferme fermeture feu fil fils filtres fixation flexible fonction fonctionne fonctionnement
four frein freins frottement gaine galet garniture grille guidon haut horloge huile imprimante inducteur interrupteur jauge lame lampe lecteur lecture levier
machine magnétique manche manette manivelle manomètre marche mécanisme mélangeur mémoire minuterie modèle molette montage montre moteurs moulin noyau ordinateur
outil ouverture palier pales panneau pédale perceuse pied pignon pile piles pince pistolet plaque plateau pneu poignée poulie pression prise problème
programmateur radiateur raccord radio rails recharge réducteur réglage régulateur remise remontage réparation réparer réservoir ressort robinet robot rotor roue
roues rouleau rupture sac secteur selle serrure socle sortie soudure soufflerie soupape stator support surchauffe système table tableau télécommande téléphone
télévision tension tête tige tiroir tondeuse toner tournevis train transformateur transmission trépied turbine tube usure vase vélo ventilateur verre verrou
vibre vis vitesse voyant
"""
EVERYDAY_THINGS = frozenset(
    f"{_MACHINES} {_PARTS_OF_THEM} {_WHAT_IS_SAID} {_GERMAN} {_DUTCH} {_FRENCH}".split()
)

"""Notes as divers, club members and filling hands write them, invented for the tests: misspelt, in
the English of either side, abbreviated. `GAS` puts the gas in doubt, `SHELL` the shell; `HARMLESS`
nothing at all. The first four were written before the words that read them. `MORE_GAS`, `MORE_SHELL`
and `MORE_HARMLESS` were written next, by somebody who looked away from those words: of them 26 of
53, 23 of 51 and 99 of 106 were read as they are meant, and the words were mended by them."""

from __future__ import annotations


def _each(said: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in said.strip().splitlines())


GAS = _each("""
smelt of oil
smelled of oil
CO 40 ppm measured
diver had a headache
tastes of rubber
oily film on the valve seat
breathing gas smelt of exhaust
member felt sick
air smells funny
air smelled a bit off
smells like diesel
strong smell of petrol when cracked open
gas tasted oily
tasted metallic on the last dive
nasty taste all dive
horrible aftertaste
user complained of a taste
customer says it tastes of burnt plastic
stinks when you open it
air stank of fish
musty smell
mouldy smell inside
smell of rotten eggs
reeks of compressor
whiffy air
bit of a pong off this one
diver threw up after the dive
2 divers sick after breathing this one
student vomited on the boat, same fill
buddy got dizzy at 12 m
felt lightheaded on this tank
felt woozy, switched to octo
splitting headache after both dives
bad head ache after dive
customer reports headakes
headache + nausea
nauseous after 20 min
diver passed out on surface
blacked out at the surface
fainted after surfacing
CO detector went off
CO alarm sounded on this cyl
co 12 ppm
CO: 25ppm
15 ppm CO
carbon monoxide found
high CO reading
CO too high
CO strip turned positive
CO2 high
CO2 1800 ppm
oil mist on the mirror
oil came out of the valve
oil on the dip tube
greasy film in outlet
grease inside
oily residue on orifice
drops of oil on white paper
trace of oil on the tissue test
black goo came out
black dust came out when blown down
brown water came out of the valve
rusty water sprayed out
water came out when opened
white powder coming out of valve
rust flakes came out
water inside
wet inside
sloshes when shaken
air contaminated
contaminated fill
contamination suspected
tainted air
bad air
bad air, do not give out
dodgy fill from elsewhere
stale air in it
foul air
gas is off
air is cloudy when bled
fumes in the air
exhaust fumes got into intake
exaust smell
compressor intake near car exhaust, fumes in fill
smels of oil
smeled of oil
tasts oily
argon in it
wrong gas in it
made him sick
coughing after breathing it
tight chest on the dive
student felt unwell
felt really rough after, not seasick
Luft riecht nach Öl
stinkt nach Abgasen
Luft schmeckt komisch
Kopfschmerzen nach dem Tauchgang
Ölfilm am Ventil
odeur d'huile
mal de tête après la plongée
goût d'huile
huele a aceite
dolor de cabeza después de bucear
odore di olio
mal di testa dopo l'immersione
ruikt naar olie
hoofdpijn na de duik
smell came back after refill
odor noticed by two members
faint smell of solvent
solvent smell
smells of acetone
chemical smell, not sure what
""")

SHELL = _each("""
deep gouge near the neck
crack in the neck
deep scratch on the shoulder
deep cut across the shoulder
3 mm gouge in the side
gash by the crown
big dent near the base
badly dented
nasty dent on the shoulder
notch cut in neck
groove worn deep in the wall
severe pitting at the foot
badly corroded under the boot
heavily pitted
dropped from the truck
fell off the truck
fell off a truck
fell out of the van
cylinder fell off the tailgate
dropped off the back of the lorry
was dropped onto concrete
dropped down the stairs
tank fell down the steps
fell from the top shelf
rolled off the roof rack
fell 3 m onto rocks
thrown out of the pickup
hairline crack?
poss crack at thread 2
neck looks bent
neck slightly bent after fall
valve sits crooked
valve loose in neck
bulge low down
bulging at the base
looks swollen
scorched on one side
was in the shed fire
paint blistered by heat
hit by a car in the car park
run over by the trailer
bubbles from the shoulder
hissing at the neck
leak from below the valve
pin hole in wall
threads stripped
valve threads pulled
cross threaded valve
Riss am Hals
tiefe Kerbe an der Schulter
vom LKW gefallen
fissure au col
cayó del camión
caduta dal furgone
""")

LEAK = _each("""
hissing at the valve
valve hisses
leaks at the valve
slow leak from valve
bubbles at the valve when dunked
""")

HARMLESS = _each("""
no smell of oil
smell gone after drain and refill
checked for oil: none
no odour
odour none
no odor, no taste
air smells fine
air smelt clean
tastes fine
tasted normal
did not smell of anything
doesn't smell
no taste no smell
no headache reported
nobody felt sick
no complaints
CO 0 ppm
CO: 0
CO none
CO 2 ppm
CO checked, 1 ppm
CO alarm tested ok
CO monitor calibrated
no CO found
no oil found
no trace of oil
no oil mist on the mirror
no water inside
dry inside
clean and dry inside
inside clean
oil changed on compressor
compressor oil topped up
oiled the trolley wheels
greased the hinge
wetsuit smells
boot smells of the harbour
smelly boot, washed
smells of new paint outside
smell was his wetsuit
van smells of diesel
KD off sick, done by TO
owner seasick, no dive made
sea sick customer, came back full
rang in sick
rental cut short, sea too rough
water in the crate
boot full of water
rinsed after salt water
salt on boot rinsed off
sand in the boot
dust cap missing
dust cap lost
new dust cap
blue boot
new boot fitted
boot torn
net torn
label peeling
sticker faded
sticker replaced
owner waited
told owner
paid cash
collected by brother
back from the dock
rack check
for the pool class
for inspection
topped up after an hour
topped up
second try after a slow leak at the whip
whip leaked, changed it
O-ring blew on the whip
yoke O-ring replaced
new O-ring
new seat and O-rings
knob stiff
knob a bit stiff, greased
handwheel chipped
handle bent
scratched paint
small scratch on paint
light scratches only
scuffed boot
a few scuffs
small dent in the boot
deep scratch on the boot
no deep gouges
no gouges, no dents
no dents or gouges
no cracks
no cracks found
neck ok
threads clean
threads look good
valve turns freely
valve serviced
DIN insert put back in
insert stuck, freed
cap fell off
knob fell off and was refitted
label fell off in the van
sticker fell off
dropped off by courier
dropped off by owner's wife
dropped off at the truck
picked up from the truck
fell behind schedule
price dropped from 12 to 10
pressure dropped from 200 to 190 overnight, cold
pressure fell as it cooled
hot fill, let it cool
warm after filling
filled slow
filled in the water bath
air picked from the list by habit
analysed 31.8
analysed twice
mixed by TO
losing
nothing to report
all good
ok
fine
full
nearly empty
came back with 30 bar
came back late
a day late
lent to the club
for the Saturday course
smell test ok
odour check passed
sniffed it, ok
air smelt fresh
tested for CO, negative
carbon monoxide: none
drained, no smell, refilled
headache: none
no one ill
taste ok
exhaust valve of his reg leaks
exhaust tee lost
customer wants trimix next week
asked for a receipt
no boot
has a new mesh
keine Auffälligkeiten
kein Geruch
kein Ölgeruch
riecht nicht
pas d'odeur
sin olor
nessun odore
geen geur
""")

MORE_GAS = _each("""
air has a whiff of paraffin
gas smells like nail varnish
tastes like pennies
bit of an odour when blown down
two complaints about the air in this one
mouth dry and foul taste, aborted dive
diver reported headache and vomiting
came up with a thumping head
had to abort dive, felt nauseous
buddy went green and was sick
dizzy spell on surface swim
student blacked out, ambulance called
CO meter showed 18 ppm at the dive site
failed CO check 22ppm
O2 analyser reads 17 %
analyser shows 18% should be 21
brown gunk in the valve inlet
oil smear at valve outlet
greasy residue round the insert
there's oil in it
oily water in bottom
liquid sloshing about
heard water moving inside
wet air, mask fogged
dust came through the reg
reg full of rust
rust particles in the reg filter
white dust in first stage filter
black residue on the filter of his first stage
green corrosion on the sintered filter
air tasted of garlic
compressor was running hot and smelly during this fill
filled while generator ran next to intake
filled near the boat exhaust
intake hose had fallen off during fill
filter was past due when this was filled
not breathable
air no good
dont breathe this
do not dive this one, air is manky
gas unfit to breathe
unknown gas
might be argon
could be pure O2
probably nitrox not air
mislabelled, holds 50%
oxygen content off
nitrogen in it?
smell like new tyre
smells burny
acrid
plasticky taste
mouthfull of water from the reg off this cylinder
""")

MORE_SHELL = _each("""
big ding in the side
dented bad near the bottom
chunk out of the shoulder
scored all round by the backplate bolt
worn through paint to bare metal and pitted
deep rust pits under boot
base rusted badly
bottom has a hole rusted in it
neck o-ring extruded
neck seems off
neck threads look chewed
valve threads rounded
valve won't tighten
valve keeps unscrewing
valve came out 2 turns by hand
came off the back of the ute
slid out of the pickup on the highway
fell down the companionway
dropped it on the slipway
got dropped on its side on concrete
tipped off the dock onto rocks
ran it over with the forklift
truck backed into it
was under the building when it burnt down
left next to the wood stove for a week
paint bubbled
paint turned brown on one side
got too hot to hold
looks like someone took a grinder to it
grinder marks
arc burn on the side
hammered
someone welded a bracket to it
drill hole in the foot
looks egg shaped
sits wobbly like base is round
bulgy
stress line by the neck
hair line at the neck
spider cracks
split
pinhole leak
tiny bubbles coming through the metal
leaks out the bottom of the neck
whistles where valve meets tank
loud pop during fill
made a cracking noise while filling
heard a creak
clunks when rolled
something loose inside
rattle inside
""")

MORE_HARMLESS = _each("""
needs a new boot
owner will bring the card on friday
hydro next year
sticker half off
bought second hand from a diver in town
swapped the yoke insert for the owner
gave him a lift to the bus
lost his weight belt
customer unhappy about price
needs to be back by noon
nice cylinder
heavy one
painted yellow over white by the factory
paint touched up
cosmetic scratches
usual wear
wear marks from the cam band
mark from the backplate
tank band slipped
boot full of sand
net missing
snails on it
barnacles scraped off the boot
muddy
washed
dried off
cold when filled
reads 20 bar low on the old gauge
two fills today
fill stopped at 150 for lunch
stopped at 2500, compressor needed
slow whip
valve hard to open
valve a bit tight
valve open on arrival, empty
came back empty
came in with 10 bar
dive aborted, current
dive cut short by weather
diver ran low on air
free flow of his reg at depth
his computer died
good dive, saw a turtle
borrowed by the course
spare for the boat
used as stage
used for drysuit inflation
for argon see the other one
analysed by KD and TO
MOD 33 m written on tape
tape removed
label printed twice
checked twice
rechecked pressure in the morning
topped in the morning, had cooled
air consumption test
filled from B1 and C1
left on the whip over lunch
whip leaked a bit, retightened
fill adaptor o-ring replaced
knob replaced
burst disc replaced, leaked
valve serviced, no leaks
soap test done, no bubbles
no leaks
leak checked
not leaking
clean bill
passed with flying colours
pit stop for the boat, back by 4
broke my nail on the knob
KD back from sick leave
headache of a day
busy day
smells like fish, boot washed
customer smells of beer
new smell blocker in the loo
his breath stank
tasty lunch
air conditioning broken
oil the trolley
oil for the compressor ordered
water bottle left with it
water cold, 6 C
saltwater pool
rust coloured boot
burnt orange paint
cracked a joke
cracking dive
fire extinguisher next to it checked
hot today
melted ice in the bucket
dropped off
dropped off for fill
dropped a weight on my foot
fell asleep
truck arrives at 5
roof rack straps are his
deep dive planned
deep clean of the boot
scratch built rack
cut the cable tie
dent in his car
big cylinder
long hose
sharp looking paint job
""")

THIRD_GRAVE = _each("""
oil film on the inside of the neck
smells of diesel when cracked open
customer had a headache after the dive on this tank
tastes like rubber, diver refused to breathe it
water came out when I inverted it
rusty water drained out of it
hissing from the valve neck
bubbles at the burst disc when dunked
valve won't shut off all the way
leaks down 20 bar overnight
gouge near the bottom, about 2 mm deep
dropped off the tailgate onto concrete
cracked at the neck thread
crack in the crown seen with the lamp
found a line of pitting round the base
deep pit by the stamp
bulge in the side wall
has been in a house fire
paint blistered, looks as if it got hot
shell is dented above the boot
heavily corroded under the boot
white powder inside, lots of it
brown flakes inside
aluminium oxide sludge in the bottom
threads stripped on the neck
valve thread is worn, wobbles in the neck
wrong thread valve, M25 in a 3/4 neck
stamp has been ground off
test date looks restamped
somebody has repainted it to hide the marks
arc strike from a welder on the shoulder
someone welded a bracket to it
fell down the stairs
rolled out of the van on the motorway
run over by the trailer
left with 0 bar and valve open in the sea
flooded, salt water inside
sea water got in
emptied at depth, may have sucked water in
the diver felt dizzy and sick
diver passed out on this cylinder
analysed 38 but the label says 32
CO alarm went off on this fill
CO 12 ppm on the meter
compressor filter was overdue when filled
filled from a compressor with exhaust blowing into the intake
oil mist in the gas
black dust came out of the valve
the O2 reading does not match the sticker
unknown mix, no one knows what is in it
contents uncertain
used for argon before
once held nitrogen
was used as a paint sprayer tank
carbon wrap is frayed
fibres broken on the hoop wrap
delamination showing at the shoulder
bow in the cylinder, does not stand straight
overfilled to 280 on a 200 tank
got pumped to 300 bar by mistake
relief disc blew during fill
burst disc let go
hot to the touch during fill and a popping noise
made a cracking noise while filling
made a bang when opened
O2 fire in the regulator first stage off this tank
regulator burned
silicone grease found in the valve of the oxygen cylinder
WD40 sprayed on the valve
grease on the threads, not oxygen compatible
handwheel bent and stem crooked
valve took a knock, is leaning
dip tube missing and rust below
o-ring extruded
O-ring keeps blowing out
looks unsafe to me
don't fill this one
do not use
not to be filled until Jean has seen it
quarantine
condemned by the other shop
other shop refused to fill it
failed visual in Malta
failed hydro last year according to the owner
6351 alloy crack suspected
eddy current showed an indication
inspector did not like the neck
pressure gauge read 40 bar more than it should
lost all its gas between Friday and Monday
stinks
musty smell, like a cellar
air tastes oily
gas smells burnt
vomit odour from the valve
sticker is a fake
papers do not belong to this cylinder
serial number does not match the certificate
serial number unreadable
acid spilled on it, battery in the boot of the car
was stored beside chlorine
sandblasted inside by the owner
owner polished it with a grinder
owner drilled a hole for a handle
heated with a heat gun to get the boot off
baked in the paint oven at 180 degrees
wall thickness measures 1 mm under minimum
weighs 300 g less than stamped
Riss am Hals
Öl in der Flasche
Flasche ist vom Auto gefallen
Ventil undicht
Wasser in der Flasche gefunden
starker Rost innen
fissure au col
de l'huile dans la bouteille
la bouteille est tombée
fuite au robinet
rouille profonde à l'intérieur
eau de mer à l'intérieur
grieta en el cuello
huele a gasoil
pierde aire por la grifería
óxido por dentro
se cayó del camión
crepa sul collo
odore di olio
perde dalla rubinetteria
ruggine all'interno
caduta dal furgone
scheur in de hals
olie in de fles
lekt bij de afsluiter
fles is gevallen
roest van binnen
Taucher wurde schwindelig
le plongeur a eu mal à la tête
el buzo se mareó
""")

THIRD_HARMLESS = _each("""
new boot fitted
green net
sticker renewed
belongs to Maria, ring her when ready
left hand tank of the twinset
owner will collect on Saturday
paid in cash
do not lend to students
prefers DIN
converted to DIN last spring
yoke insert in the valve
split fill with his brother's cylinder
boot creaks on the tiles
cage rattles in the van
nitrox?
wants nitrox next time
fill to 220 please
slow fill please
stored in rack 3
top shelf
handle is blue
scratched paint only
scuffed paint
paint a bit faded
name written in marker on the shoulder
old sticker removed
visual sticker on the back
hydro due in June
test in March
sent to the test house
back from the test house
fetched by Tom
customer asks for a text message
lends it to his daughter
bought second hand on the island
first fill free
used in the pool only
used for training
pony cylinder
stage bottle, mod on the side
needs a new boot
needs new mod label
neck band lost
tank strap forgotten here
regulator left on the cylinder
valve cap missing
dust cap lost
dust cap replaced
has a rubber boot, blue
valve serviced by Peter
o-ring changed
o-ring replaced at the counter
valve turns smoothly
valve a little stiff but fine
no leak
no rust inside
no smell
dry and clean inside
clean inside, no pitting
light surface rust on the outside, brushed off
passed visual
passed hydro with no remarks
looks good
good as new
nice cylinder
ask Karl about the price
invoice 4471
order number 22
collected without signature
came in with 60 bar
came back with 30 bar
always returned nearly empty
never comes back empty
returned late
returned a day early
deposit held
deposit returned
boat spare
safety bottle for the boat
reserve for the boat
used by the instructor
dive school's blue set
bands tight
twinset split into two singles
manifold closed
isolator left open on purpose
left post right-handed
valve left in storage position
stored at 20 bar for the winter
stored standing
winter store
transported by ferry
goes to Egypt in May
lent to the fire brigade dive team
photographed for the web page
weighs 14 kg
lighter than it looks
buoyant when empty
floats at the end of the dive
height 60 cm
fits the small rack only
does not fit the rack
mesh torn
net torn, replaced
boot cracked, replaced
sticker peeled off
label unreadable, reprinted
tag lost, new tag printed
QR code printed again
owner moved to Lyon
new phone number, see file
member since 2012
club cylinder
club discount
birthday present
engraved name by the maker
painted yellow by the factory
analyser calibrated before the fill
analysed twice, 32.1 both
oxygen clean, sticker on
topped up with air
drained for shipping
emptied for the flight
flasche gehört Peter
neuer Standfuß
wird am Samstag abgeholt
Ventil gewartet
kein Rost
propriétaire prévenu
nouveau culot
à rendre samedi
robinet révisé
pas de rouille
propietario avisado
red nueva
lo recoge el sábado
sin óxido
válvula revisada
proprietario avvisato
rete nuova
ritiro sabato
niente ruggine
rubinetto revisionato
eigenaar gebeld
nieuwe voet
wordt zaterdag opgehaald
geen roest
afsluiter gereviseerd
contents unknown to the customer until analysed
contents air
contents checked with the analyser
label says 32, analysed 32.1
analysed 31.8 label says EAN32
had a fall, customer is fine
diver took a tumble on the slipway, cylinder was not with her
took a break at noon
took a bang-up job to clean
paint bubbles on the boot only
boot drilled for drainage holes
boot has drain holes drilled
powder coated again by the factory
carbon filter changed
carbon handle grip torn
fibreglass repair on the boat
stands straight again with the new boot
does not stand up without the boot
bow line of the boat attached
wall bracket fitted
thin wall steel
wall mounted rack
weighs less than the old one
eddy current test passed
eddy current done, no indication
visual with eddy current, clean
stamp easy to read
serial checked, matches
serial does match the certificate
sticker placed over the marks, moved
chlorine smell in the changing room
stored in the pool chemical free shed
used in chlorinated pool
silicone grease on the new o-ring
grease on the trolley wheels
threads greased with christo-lube
used for argon suit inflation by Tom
filled with helium for the course
paint sprayer blocked the door
regulator burned a hole in my wallet
oxygen fire blanket in the shop
oxygen compatible grease used
water got in the boot
water got in his drysuit
rinsed with fresh water
valve open in storage
they refused to pay
station refused to take cash
shop will not fill on Sundays
line of corrosion proof tape
2 mm scratch in the paint of the boot
line of dirt washed off
cracking sound track on the radio
popping in on Friday
mix matches the label
back again on Monday
sticker is a bit faded
came back from paint shop
heated changing room key attached
cooked lunch beside it
kein Wasser in der Flasche
innen trocken, kein Rost
pas d'eau dans la bouteille
sin agua dentro
niente acqua all'interno
geen water in de fles
bouteille rendue samedi
Flasche gut gefallen dem Kunden
wasser kam aus dem boot
serial number on the sticker now
""")

# A fourth list, of stamps, of the sea and of what a cylinder was before, in four languages.

FOURTH_GRAVE = _each("""
serial number unreadable
serial unreadable
can't read the serial
stamp illegible
stamps illegible on the shoulder
test date not legible
no serial on it
hydro stamp painted over
stamping worn away, cannot make out the pressure
working pressure stamp not readable
Seriennummer nicht lesbar
Stempel unleserlich
numéro de série illisible
poinçon illisible
número de serie ilegible
marcado ilegible
markings ground flush
the crown stamps have been buffed off
shot-blasted at the bodyshop
powder coated by a friend, oven baked
hit by a forklift
car drove over it
was in the house fire
scorched one side, paint bubbled
left by the boiler, boot melted
arc strike by the collar
someone had welded a bracket to it
pinhole weeping at the shoulder
bubbles from the neck in the bath
frost ring at neck when filling
hisses from the threads under the valve
valve sits cocked in the neck
valve went in crossthreaded
had to lean on the bar to get the valve out
valve stripped a thread coming out
O-ring groove corroded
line corrosion under the boot
white bloom all round the base
rust blisters beneath the paint
rust scale fell out when turned over
brown water came out when opened upside down
tea coloured water in it
valve left open on the seabed two weeks
found on the wreck, no idea how long under
bloke says it was a CO2 bottle before
used for spraying paint
argon sticker on the bottom
smelled like the mower shed
air had an odd tang
throat burnt after ten minutes
both divers with sore heads
kid felt queasy at the safety stop
bit my tongue it tasted of rubber hose inside
compressor was sucking in the generator smoke
filled the day the filter went soggy
pumped while the boat diesel was ticking over
oil mist spotted on the white cloth at the outlet
meter beeped on CO at fill
analyser says 26 label says 32
hydrostatic failed at other shop
they told him it failed the eddy test
neck crack per Dave
hairline by thread 3
plus sign was stamped by him not the tester
dropped down the boat ladder onto the deck
rolled off the jetty onto rocks
dent the size of a fist
gouge you can catch a nail in
bulging slightly at the base
base gone flat on one edge
Flasche riecht nach Diesel
Luft schmeckt ölig
Taucher hatte Kopfweh
Riss am Hals
Beule an der Seite
Flasche lag zwei Monate im Hafen
Gewinde ausgeleiert
Ventil lässt sich nicht zudrehen
l'air avait un goût d'huile
odeur de gasoil
rouille au fond
choc important sur l'ogive
filetage abîmé
tombée du quai
el aire huele a goma
sabor a aceite
golpe en el cuello
oxidada por dentro
rosca dañada
se cayó del muelle
le dolía la cabeza al salir
shoulder stamp unreadable under the paint
could not make out the serial
serial has been ground off
can't make out the hydro date
stamps painted over, could not be read
requal stamp illegible
serial no longer legible
no hydro stamp on it
no markings at all
crown marks worn smooth
last digit of the serial unreadable
serial number not legible, owner guessed
plus stamped by the owner
Seriennummer abgeschliffen
Prüfdatum nicht zu erkennen
Einprägung unleserlich
poinçons effacés
marcas borradas
was raised from the wreck in spring
found on the sea bed off the point
used to be a welding bottle
acetylene label on the shoulder
compressor sucked in bbq smoke
filled while the van was idling outside
got a nasty tang on it
muzzy heads after the dive
fell off the quay
""")

FOURTH_HARMLESS = _each("""
green boot
owner collects Thursday
moved to rack 3
sticker peeling, new one ordered
serial re-read and confirmed
serial checked twice
stamp clear and readable
numbers easy to read
new O-ring fitted
needs a handle
yoke insert in the drawer
valve feels nice
knob replaced
dust cap missing
cap chewed by the dog
paint scratched a bit
scuffed paint on the shoulder from the rack
light scratches
hose leaked, changed it
owner has a headache of paperwork
customer was sick so collects next week
smells fine
no smell
no odour no taste
air tested clean
CO 0 ppm
CO 2 ppm
CO monitor bumped before fill
drained for the hydro
filled slowly, cool to the hand
sat in water bath
topped up for the trip
label printed
mesh net washed
boot off for the look, nothing under it
lightly used pool cylinder
pool only
instructor's own tank
Dave's favourite
share with the boat club
left-handed valve
valve opens easily
DIN insert removed for him
twin band spare
warranty card in the file
waiting for the hydro stamp
sent for paint
returned by the courier
booked for Sunday
gauge was 5 bar off, another used
gas analysed 32.1
analysed twice by customer
same fill as the other two
weigh it next time
customer rang, no hurry
Fuß neu
Netz gewaschen
Kunde holt am Freitag ab
neue Plakette
Ventil gängig
joint torique changé
étiquette neuve
le client passe samedi
filet lavé
rien à signaler
recogida el sábado
etiqueta nueva
junta tórica cambiada
sin novedad
aire sin olor
serial readable
serial number checked against the card
stamps clear after a wash
stamp legible, photo taken
sticker illegible, replaced
label unreadable, reprinted
card illegible
hydro stamp missing on the invoice
cannot read the old sticker
serial typed wrong, corrected
serial read by KD and TO
no sticker on it
no name on it
markings match the papers
date stamped 03 24
plus stamped by the tester
owner cannot find the invoice
cannot find the serial on the list
found in the lake club's store
left at the harbour office
lost in the move, found again
left in the van
dropped off at the quay
picked up at the pier
was a rental bottle
used with a spray nozzle cleaner on the boot
CO monitor beeped its low battery
compressor intake checked
filled while waiting
raised to 200 bar
customer was sick, collects Monday
owner ill this week, will ring
Stempel gut lesbar
Seriennummer stimmt
poinçon bien lisible
número de serie comprobado
lay on its side in the rack
sat in the sun by the harbour wall
nitrox label on the shoulder
stamped PI and dated
""")

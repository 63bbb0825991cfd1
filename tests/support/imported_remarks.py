"""Remarks of people's own lists, invented for the tests: `DANGER` must hold a cylinder that comes in
until somebody looked at it, `HARMLESS` must not. In English, German, French, Spanish, Italian and
Dutch, as clubs and shops write them: abbreviated, without accents, in capitals. A third of each
was written after the words that read them, and those were mended by it: 38 of 152 of the danger
held nothing then, and 8 of 127 of the harmless held, of which five were not taken over."""

from __future__ import annotations


def _each(said: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in said.strip().splitlines())


DANGER = {
    "en": _each("""
do not issue
DO NOT ISSUE!
don't hire out
not for hire
not for rent
not for rental
not to be issued
never lend
must not be handed out
no hire
not to go out
do not rent - ask Bob
not safe to dive
not fit for use
not cleared yet
not holding pressure
won't hold air
doesn't keep its pressure
does not stay full
gauge drops overnight
pressure falls overnight
needle creeps down
loses 20 bar a night
losing about 300 psi a week
drops 15 bar per day
10 bar down after a week
empty again next morning
goes down by itself
H2O in it
1/2 full of water
half full of water
water sloshing inside
water inside
full of sea water
flooded
CO2 bottle
argon only
old welding gas cylinder
was a fire extinguisher
beer gas bottle
6351
AA 6351
AA6351-T6
alloy 6351
at requalifier
at the inspector's
with the tester
sent to requalifier
delivered to the test house
gone to hydro shop
throw away
throw it out
chuck it
for the tip
for the skip
scrap metal
end of life
ready for the bin
in the bin
to be cut up
to be disposed of
off limits
hands off this one
valve will not close
neck thread short
no issue till checked
please don't rent
can't be hired
not rentable
not for customer use
keep out of hire
withdrawn from hire
leaks overnight
goes flat in a week
loses a bit each day
loses pressure
pressure dropping
gauge went from 200 to 150 overnight
200 to 170 in two days
slow loss
won't keep a fill
never holds
water sloshes in it
got water in
sea water got in
third full of water
ex CO2
N2 bottle
used for argon
nitrogen cylinder
made of 6351
Luxfer 6351-T6?
HTS6351
out for test
being hydroed
away at Smiths for test
with inspector since May
at Meier's for hydro
for disposal
to be scrapped
goes to scrap
rubbish bin
dead weight
do not pressurise
do not pressurize
not passed
to be destroyed
unfit for diving
"""),
    "de": _each("""
hält den Druck nicht
haelt den Druck nicht mehr
HALT DRUCK NICHT
hält keine Luft
Druck fällt über Nacht
Manometer fällt über Nacht
verliert 20 bar pro Nacht
20 bar weniger am Morgen
über Nacht leer
bitte aussondern
aussondern
auszusondern
Schrott
Schrottregal
zum Schrott
kann weg
muss weg
in die Tonne
Alteisen
entsorgen
wegschmeissen
nicht ausgeben
bitte nicht verleihen
nicht mehr vermieten
darf nicht ausgeliehen werden
nicht zum Verleih
kein Verleih
nicht zum Tauchen
nicht einsatzbereit
nicht freigegeben
Finger weg
zum Prüfer
beim Prüfer
zur TÜV-Prüfung gegeben
zur Wandstärkenmessung
Wasser drin
halb voll Wasser
CO2-Flasche
Legierung 6351
Argonflasche
nicht rausgeben
bitte nicht mehr füllen
nicht weiter verwenden
nicht mehr in Betrieb
gesperrt bis Prüfung
verliert Luft
verliert langsam
lässt Luft
lässt nach
Druck weg nach 2 Tagen
100 bar weniger nach einer Woche
hält nur 100 bar
wird leer
läuft leer
Wasser in der Flasche
Wasser innen
Stickstoffflasche
Feuerlöscher
war mal CO2
Aluleg. 6351
ist beim TÜV
liegt beim Prüfer
bei Firma Meier zur Prüfung
zur Reparatur
ab in den Müll
verschrotten
ausgesondert
unbrauchbar
nicht geeignet
darf nicht raus
Ausgabe verboten
keine Ausgabe
"""),
    "fr": _each("""
à jeter
a jeter
à ne pas utiliser
A NE PAS UTILISER
à ne pas gonfler
ne pas louer
ne plus prêter
ne pas sortir
ne doit pas être gonflée
pas pour la location
pas de location
n'est plus conforme
inutilisable
perte de 20 bar par nuit
perte de 20 bars en une nuit
perd 10 bar par semaine
ne tient pas la pression
ne tient plus l'air
la pression baisse la nuit
manomètre descend tout seul
vide le lendemain
se vide toute seule
à la benne
mettre au rebut
à détruire
bonne pour la casse
eau à l'intérieur
de l'eau dedans
à moitié pleine d'eau
bouteille de CO2
alliage 6351
chez le requalificateur
partie à l'épreuve
chez l'inspecteur
ne pas donner
surtout ne pas gonfler
n'est pas étanche
ne garde pas l'air
perd de l'air
se dégonfle
50 bar de moins en une semaine
plus de pression le matin
contient de l'eau
remplie d'eau
ancienne bouteille d'argon
extincteur
en 6351
au centre d'épreuve
envoyée en requalification
en contrôle
pour la ferraille
à éliminer
hors d'usage
à retirer
réformer
interdite
non utilisable
location interdite
"""),
    "es": _each("""
no entregar
no alquilar
no prestar
no se debe usar
no es apta
no para alquiler
inservible
para tirar
tirar a la basura
desechar
dar de baja
no mantiene la presión
no aguanta presión
pierde 20 bar por noche
la presión baja
el manómetro baja por la noche
vacía al día siguiente
agua dentro
llena de agua
botella de CO2
aleación 6351
en el inspector
enviada a retimbrar
no sacar
no se puede llenar
no mantiene aire
se vacía sola
pierde presión
con agua
tiene agua dentro
extintor
de argón
es 6351
en el taller
la tiene el inspector
está en retimbrado
tirar
para chatarra
retirada
no sirve
fuera de uso
"""),
    "it": _each("""
non noleggiare
non prestare
non consegnare
da non usare
non va usata
non idonea
non per noleggio
inutilizzabile
da buttare
da gettare via
da demolire
da smaltire
non tiene la pressione
non tiene l'aria
perde 20 bar a notte
la pressione cala
il manometro scende di notte
si svuota da sola
acqua dentro
piena d'acqua
bombola di CO2
lega 6351
dal collaudatore
mandata al collaudo
non dare
non va caricata
non si può usare
non mantiene
perde aria
perde pressione
si scarica
con acqua dentro
era di argon
è in 6351
in officina
dal revisore
da scartare
rottame
non serve più
fuori uso
noleggio vietato
"""),
    "nl": _each("""
niet uitlenen
niet verhuren
niet meegeven
niet uitgeven
mag niet gebruikt worden
niet voor verhuur
geen verhuur
niet veilig
onbruikbaar
weggooien
afvoeren
afgedankt
oud ijzer
naar de schroot
houdt geen druk
houdt de druk niet
druk daalt 's nachts
manometer zakt 's nachts
verliest 20 bar per nacht
loopt leeg
water erin
half vol water
CO2-fles
legering 6351
bij de keurmeester
naar de keurmeester
niet gebruiken tot keuring
niet mee laten nemen
mag niet gevuld
houdt lucht niet vast
verliest lucht
drukverlies
zakt 20 bar
vol met water
er zit water in
was argonfles
stikstoffles
is 6351
staat bij de keuring
naar keuring
wegdoen
weg ermee
buiten dienst
verhuur verboden
"""),
}
HARMLESS = {
    "en": _each("""
boot missing
handle missing
net missing
cap missing
danger-orange paint
attention: DIN valve
note: yoke outlet
belongs to Sue
property of the lake school
needs new sticker
needs a new boot
needs net
repainted 2024
painted 2023
sprayed blue 2022
not used since 2019
never used
hardly used
not for sale
no issues
no leaks, no rust
holds pressure well
holds air fine
does not lose pressure
gauge ok
no water inside
dry inside
used in fresh water only
rinsed with water
water volume 12 l
CO2 test ok
serial 6351
no 6351
owner's number 6351
hire stock
for hire
rental
for rent
loan cylinder
may be issued
issue no 4
bin 3
rack by the bin store
full
half full
empty
filled 2024
tester: JM
inspected by Smith
hydro done 2023
test house stamp XY
with blue net
with handle
with DIN insert
with cap
new valve fitted
valve replaced 2022
sticker worn
sticker missing
label illegible
scratched paint
paint scratched
stage with rigging
sold by lake shop
bought for scrap price
orange
attention orange boot
John Dangerfield
valve DIN 200
no problems
used weekly
kept full
fill to 230
drop off at Sue's
goes with twin set
opens left
to be returned in May
in hire fleet
rent 5 EUR per day
hire 10 a week
5 per night
Waterfront school
blue water divers
Water Babies club
never rented
not oxygen clean
not O2 clean
first issue
issue date 2020
inspector's own
owner is an inspector
belongs to the tester
skip Jones
Bob Skipper
cap blue
no boot
without net
no sticker
label gone
boot worn
new cap needed
needs new boot and net
lost its cap
tank 6351
popular
heavy
Tip Top divers
for open water course
OWD course
open water course only
confined water
pool only
water polo
holds 12 l
held by Sue
keep
keep for deco
take to lake
put in rack 3
"""),
    "de": _each("""
gehört dem Verein
gehört Sabine
Eigentum des Vereins
Standfuß fehlt
Netz fehlt
Griff fehlt
Kappe fehlt
Aufkleber fehlt
braucht neuen Aufkleber
neu lackiert 2024
hält den Druck
hält Druck gut
dicht
ist dicht
verliert keinen Druck
nicht gebraucht seit 2019
noch nie benutzt
wenig benutzt
nicht verliehen
kein Wasser drin
innen trocken
nur im Süßwasser
Verleihflasche
zum Verleih
für Kurse
Prüfer: JM
geprüft von Meier
TÜV 2023
Achtung: DIN-Ventil
signalorange
gefahrenorange lackiert
mit Netz
mit Griff
leer
voll
Nr. 6351
im Regal neben der Tonne
hält dicht
gut gehalten
nur für Kurse
nicht für Nitrox
ohne Netz
kein Fuß
neue Kappe
Weg 5
Wasserwacht
DLRG
Wasserrettung
Wasserwacht Bayern
Tonnenregal
gehört Müller
gehört zum Doppelgerät
Prüfdruck 300
Prüfung 2023
letzte Prüfung 2023
kommt aus Kiel
Verleih 5 EUR
leihweise
Alu 12L
Fuß weg
Kappe weg
für Freiwasser
"""),
    "fr": _each("""
appartient à Luc
appartient au club
culot manquant
filet manque
étiquette à changer
repeinte en 2024
tient bien la pression
étanche
ne perd pas
pas d'eau dedans
sèche à l'intérieur
jamais utilisée
peu utilisée
pas à vendre
pour la location
bouteille de prêt
éprouvée en 2023
inspectée par Paul
attention : robinet DIN
avec filet
avec poignée
vide
pleine
orange
numéro 6351
sans filet
pas de culot
Aude Plongée
pour l'eau libre
appartient à l'école
vendue avec filet
robinet neuf
filet neuf
à prêter
à louer
non louée
location 5 euros
au club
chez nous
pleine d'air
tient l'air
"""),
    "es": _each("""
pertenece a Luis
propiedad del club
falta la red
falta el asa
pegatina nueva
repintada 2024
mantiene la presión
no pierde
sin agua dentro
seca por dentro
nunca usada
poco usada
no se vende
para alquiler
probada en 2023
atención: grifo DIN
con red
vacía
llena
número 6351
sin red
sin base
del club
para aguas abiertas
alquiler 5 euros
propiedad de Ana
nueva pegatina
mantiene bien
no alquilada
en la tienda
"""),
    "it": _each("""
appartiene a Marco
proprietà del club
rete mancante
manca la maniglia
adesivo nuovo
riverniciata 2024
tiene la pressione
non perde
niente acqua dentro
asciutta dentro
mai usata
poco usata
non in vendita
per noleggio
collaudata 2023
attenzione: rubinetto DIN
con rete
vuota
piena
numero 6351
senza rete
senza base
del circolo
acque libere
noleggio 5 euro
di Anna
tiene bene
non noleggiata
in negozio
"""),
    "nl": _each("""
eigendom van Piet
net ontbreekt
handvat ontbreekt
nieuwe sticker nodig
overgeschilderd 2024
houdt druk goed
verliest niets
geen water erin
droog van binnen
nooit gebruikt
weinig gebruikt
niet te koop
voor verhuur
gekeurd 2023
let op: DIN-kraan
met net
leeg
vol
nummer 6351
zonder net
geen net
van de club
open water
verhuur 5 euro
van Anna
houdt goed
nooit verhuurd
in de winkel
"""),
}

# The words of the report: German. Every file has the same sentences in the same order.

# How a fastener ended

shown = gezeigt
counted = gezählt
stated = angegeben
open = offen
count-only = nur gezählt: welche es war, ist nicht bekannt
ending-shown = gezeigt: nach Plan angezogen
ending-counted = gezählt (nur gezählt: welche es war, ist nicht bekannt)
ending-stated = angegeben: vom Bediener, nicht gemessen
ending-open = offen
meaning-shown = auf Drehmoment in der Toleranz gebracht, und mit genügender Wahrscheinlichkeit eben diese
meaning-counted = ihre Gruppe hat so viele gute Züge wie Verschraubungen
meaning-stated = vom Bediener gesagt oder getippt; gemessen wurde nichts
meaning-open = nichts davon

# Where a fact comes from

measured = gemessen
inferred = gefolgert
kinds = { $measured }: vom Adapter. { $inferred }: was das Programm daraus schließt. { $stated }: was ein Mensch gesagt hat, mehr nicht.

# What is concluded of a pull

torque-in = in der Toleranz
torque-low = unter der Toleranz
torque-high = über der Toleranz
torque-none = ohne Toleranz
act-tighten = Anziehen
act-recheck = schon fest, nochmals gezogen
act-loosen = Lösen
act-trial = an nichts aus dem Plan
basis-plan-order = Reihenfolge des Plans
basis-mark = Angabe des Bedieners
basis-motion = Weg des Werkzeugs
basis-rotation = Drehwinkel
basis-trace = Form des Drehmomentverlaufs
basis-torque = Höhe des Drehmoments
basis-time = Zeit zwischen den Zügen
basis-nothing = nichts
share-over = über { $share }
share-under = unter { $share }
counter-clockwise = { $peak } gegen den Uhrzeigersinn
at-least = mindestens { $limit }

# Kinds of warning

warning-low-torque = unter der Toleranz geblieben
warning-high-torque = über der Toleranz
warning-order = falsche Reihenfolge
warning-repeat = nochmals gezogen, während eine andere wartet
warning-did-not-turn = drehte nicht
warning-skipped = ausgelassen
warning-loosened = gelöst
warning-hold-open = gezogen, bevor der Haltepunkt bestätigt war
warning-redo-slack = lösen und neu anziehen
warning-backed-off = nach Erreichen des Drehmoments zurückgedreht
warning-unit-mix-up = Einheiten vielleicht verwechselt
warning-sides-differ = links und rechts drehten verschieden weit
warning-adapter-range = außerhalb des Messbereichs
warning-calibration-due = Kalibrierung fällig
warning-not-certified = außerhalb des Kalibrierscheins
warning-unexpected = passt zu nichts, was im Plan offen ist
warning-slipped = abgerutscht
warning-thread-damage = Gewinde vielleicht beschädigt
warning-yielding = Schraube streckt sich vielleicht
warning-link-lost = Verbindung verloren
warning-gap = Messwerte fehlen
warning-unknown-name = ein Name, der nicht im Plan steht
warning-past-slot = weiter als bis zum nächsten Schlitz
warning-low-angle = unter seinem Winkel geblieben
warning-over-angle = weiter als sein Winkel gedreht
warning-unconfirmed = vor dem Ende nicht bestätigt
warning-adapter-suspect = Adapter zweifelhaft
warning-guard-band = zu nah an einer Grenze, um nachgewiesen zu sein
warning-cured = gezogen, nachdem die Schraubensicherung ausgehärtet war
warning-driven = mit dem Schlagschrauber gezogen, nur von Hand erlaubt
warning-no-access = mit einem Adapter gezogen, der nicht hinkommt

# What was said, and by what means

origin-command-line = auf der Befehlszeile
origin-page = auf der Seite
origin-button = mit der Taste des Adapters
origin-recording = in einer Aufzeichnung
origin-typed = getippt
origin-pedal = mit dem Fußpedal
origin-by = { $origin }, { $name }
photos = Fotos
photo-by = { $about }, von { $name }
said-at = ich bin an
said-confirm = Bedingung erfüllt
said-stated = ohne Adapter erledigt
said-opened = geöffnet oder gelöst
said-low = unter dem Drehmoment geblieben
said-also-opened = ebenfalls geöffnet
said-spoiled = braucht ein neues Teil
said-figure = von Hand gemessen
said-skip = mit Absicht ausgelassen
said-retract = letzte Angabe oder Zuordnung zurückgenommen
said-value = Wert, den der Plan offen ließ
said-note = Notiz
not-given = keine Angabe
removed = entfernt
left-out = weggelassen
field-vehicle = Fahrzeug
field-vin = FIN
field-plate = Kennzeichen
field-operator = Bediener
field-note = Notiz

# What the plan asks

cure-slacken = lösen, setzen lassen, nochmals ziehen
cure-pull-again = nochmals ziehen, wenn er erfüllt ist
pattern-single = eine Verschraubung
pattern-ring = ein Kreis, im Uhrzeigersinn nummeriert
pattern-line = eine Reihe
row-order = Reihenfolge wie geschrieben oder ebenso vom anderen Ende
expect-window = ein Drehmoment
expect-by-hand = von Hand, kein Messwert erwartet
expect-no-figure = kein Wert veröffentlicht, es gilt die Angabe des Bedieners
expect-to-be-looked-up = Wert nie nachgeschlagen
turned-to-reach = Teile gedreht, damit jede zur Hand kommt
no-recheck = nach dem Abschluss nicht nachzuziehen
left-hand = Linksgewinde
each-shown = jede einzeln zu zeigen, nicht nur zu zählen
position-unknown = Lage nach der Reihenfolge des Plans; dieser Adapter kann sie nicht erkennen.
position-partly-unknown = Wo sonst nichts darauf hinweist, Lage nach der Reihenfolge des Plans; dieser Adapter kann sie nicht erkennen.
position-assumed = Wo sonst nichts darauf hinweist, Lage nach der Reihenfolge des Plans.

# What stands out

report = Auftragsbericht { $job }, { $plan }
report-not-closed = Auftragsbericht { $job }, { $plan }, Auftrag noch nicht geschlossen
page-title = Auftrag { $job }, { $plan }: { $headline }
nothing-open = Aus dem Plan ist nichts offen
open-one = Offen: 1 Verschraubung
open-many = Offen: { $n } Verschraubungen
unconfirmed-one = Nicht bestätigt: 1 Punkt
unconfirmed-many = Nicht bestätigt: { $n } Punkte
life-critical = Gefahr für Leib und Leben
critical = { $critical }: Fahrzeug nicht bewegen.
critical-line = GEFAHR FÜR LEIB UND LEBEN, Fahrzeug nicht bewegen; { $because }
never-looked-up = ihr Wert wurde nie nachgeschlagen
nobody-stated = niemand hat angegeben, dass sie erledigt ist
no-pull = kein Zug aufgezeichnet
not-confirmed-because = nicht bestätigt: { $asked }
left-out-as-stated = laut Angabe mit Absicht ausgelassen
count-not-enough = laut Plan muss jede einzeln gezeigt sein; gezählt genügt nicht
last-pull = letzter Zug { $peak }, { $verdict }
last-pull-of-pass = letzter Zug { $peak }, { $verdict }, Durchgang { $pass } von { $passes }
hold-one = 1 Haltepunkt nicht bestätigt
hold-many = { $n } Haltepunkte nicht bestätigt
pull-again = Nachkontrolle fällig
counting-one = 1 Warnung gilt noch
counting-many = { $n } Warnungen gelten noch
recheck-distance = nach { $km } km
recheck-day = bis { $day }
recheck-either = { $distance } oder { $day }
recheck-reminder = { $when } (Erinnerung am { $day }: Tag von Clampbook, es zählt die Strecke)
recheck-reminder-alone = wie der Plan es sagt (Erinnerung am { $day }: Tag von Clampbook, es zählt der Plan)
recheck-usual = { $when }, wie bei Rädern üblich; die Strecke des Herstellers geht vor

# The job

the-job = Der Auftrag
vehicle = Fahrzeug
vin = FIN
plate = Kennzeichen
operator = Bediener
plan = Plan
plan-file = Plandatei
started = Begonnen
closed = Geschlossen
parked = Geparkt
pulls-again = Nachkontrolle
left-open = Offen, weil
times = Zeiten
job = Auftrag
pair = { $term }: { $value }
both = { $one }; { $other }
not-yet = noch nicht
closed-open = { $when }, mit Offenem: { $reason }
from-to = { $from } bis { $to }
not-resumed = { $from }, nicht fortgesetzt
parked-open = { $span }, offen: { $names }
what-job-tightened = was Auftrag { $job } angezogen hat
local-time = Ortszeit, { $offset }

# What measured

adapters = Adapter
adapter = Adapter
no-adapter = Kein Adapter war beteiligt.
serial = Seriennummer
range = Messbereich
accuracy = Genauigkeit
certificate = Kalibrierschein
it-tells = Er meldet
readings = Messwerte
drive = Vierkant { $drive }
of-reading = ±{ $share } % vom Messwert
not-on-record = nicht hinterlegt
tells-peak = Spitzenwert
tells-rotation = Drehwinkel
tells-trace = Verlauf
tells-motion = Bewegung
tells-button = Taste
not-numbered = von ihm nicht nummeriert
certificate-line = { $number }, { $laboratory }, { $date }, fällig { $due }
method = Verfahren: { $method }
standing-valid = am Tag gültig
standing-overdue = am Tag überfällig
standing-later = erst nach dem Auftrag kalibriert
adapter-line = { $adapter }, Seriennummer { $serial }, { $accuracy }
accuracy-not-on-record = Genauigkeit nicht hinterlegt
certificate-not-on-record = kein Kalibrierschein hinterlegt
certificate-full = Kalibrierschein { $number }, { $laboratory }, { $date }, fällig { $due }, { $standing }; Verfahren: { $method }
certificate-covers = gilt für { $low } bis { $high } N·m, { $directions }
direction-clockwise = im Uhrzeigersinn
direction-counter-clockwise = gegen den Uhrzeigersinn
certificate-step = Anzeigeschritt { $step } N·m
certificate-point = bei { $torque } N·m { $error } ±{ $uncertainty } N·m
certificate-no-point = kein Messpunkt hinterlegt

# Holds

holds = Haltepunkte
hold = Haltepunkt
condition = Bedingung
confirmed = Bestätigt
if-too-early = Wenn zu früh
is-confirmed = bestätigt
not-confirmed = nicht bestätigt

# A step

critical-joint = Verbindung mit Gefahr für Leib und Leben
pass = Durchgang
target = Sollwert
window = Toleranz
order = Reihenfolge
check-round = Prüfrunde
no-window = keine
one-alone = eine allein
any-order = beliebig
no-hold = keine
source = Herkunft der Werte
socket = Nuss
thread = Gewinde
thread-condition = Gewindezustand
layout = Anordnung
after = Nach
fastener = Verschraubung
ended = Ergebnis
last = Letzter Zug
no-pull-on-record = Kein Zug aufgezeichnet.
time = Zeit
peak = Spitzenwert
pull = Zug
how-sure = Wahrsch.
basis = Grundlage
brought = in die Toleranz gebracht: { $share }
still-counting = gilt noch
put-right-by-pull = behoben durch Zug { $number } von Adapter { $adapter }, { $at }
put-right-by-word = behoben durch das Gesagte, { $at }
turned = { $angle } gedreht
interval = 95 %: { $span }
by-certificate = laut Kalibrierschein ±{ $uncertainty } N·m
close-to-limit = nahe an einer Grenze
zero-moved = der Nullpunkt des Adapters war um { $moved } N·m gewandert
revised = berichtigt
nothing-concluded = nichts gefolgert
typed-number = getippt Nr. { $number }
reading-number = { $adapter } Nr. { $number }
pass-number = Durchgang { $pass }
no-fastener-of-plan = keine Verschraubung des Plans
replaced = Ersetzt: zuerst gehalten für { $fastener }, { $act }, { $verdict }, { $share }, wegen: { $basis }.
withdrawn = Berichtigt: der Zug von { $when } ({ $reading }) wurde zuerst für diese gehalten; jetzt gilt er für: { $fastener }.
pass-line = Durchgang { $pass }: { $target }
source-line = Herkunft der Werte: { $source }
fastener-line = { $fastener }: { $ending }, in die Toleranz gebracht: { $share } [gefolgert]
verdict-of-pass = { $verdict }, Durchgang { $pass }
concluded = { $act } [gefolgert, { $share }, Grundlage: { $basis }]

# Drawings

ring = Kreis, im Uhrzeigersinn: { $members }
ring-numbered = Im Uhrzeigersinn nummeriert, wie der Bediener sie sieht; bei 1 beginnt er.
ring-counted = Gezählt heißt nur gezählt: welche es war, ist nicht bekannt.
ring-share = Der Prozentsatz ist gefolgert: wie wahrscheinlich diese in die Toleranz gebracht und seither nicht gelöst wurde.
ring-order = Die Zahl innen sagt, in welcher Reihenfolge sie zuletzt angezogen wurden (gefolgert).
ring-pitch-circle = Lochkreis { $diameter } mm.
trace = Drehmoment des Zugs von { $when }
trace-caption = Drehmoment von { $when }. ▲ Spitzenwert laut Adapter, Band: Toleranz.
trace-caption-snug = Drehmoment von { $when }. ▲ Spitzenwert laut Adapter, ○ Fügepunkt, Band: Toleranz.
plot-angle = Drehwinkel, Grad
plot-time = Zeit, Sekunden
plot-time-without-pauses = Zeit, Sekunden, ohne die Pausen
plot-torque = Drehmoment, { $unit }
plot-window = Toleranz

# Lists

how-to-read = Zum Lesen
no-fastener = Züge, die zu keiner Verschraubung gehören
without-a-job = Inzwischen aufgezeichnet, ohne Auftrag
loose-typed = getippter Wert { $number }: { $peak }
loose-reading = Messwert { $number } des Adapters { $adapter }: { $peak }
loose-missing = Messwerte { $first } bis { $last } des Adapters { $adapter } fehlen
operator-said = Was der Bediener gesagt hat
nothing-said = Nichts.
said = Gesagt
about = Über
how = Wie
nothing-named = nichts genannt
corrected = Später berichtigt
correction = { $when }, zu Eintrag { $entry }, { $field }: { $text }
correction-line = zu Eintrag { $entry }, { $field }: { $text }
before = (vorher: { $text })
warnings = Warnungen
no-warning = Keine.
kind = Art
what-was-said = Wortlaut
now = Jetzt
none-named = keine
for-the-record = nur vermerkt
whole-job = Auftrag
hold-line = nicht bestätigt: { $hold }: { $text }
recheck-line = Nachkontrolle: { $group }, { $when }
counting-line = gilt noch: { $about }: { $warning }. { $text }
warning-line = { $about }: { $warning }. { $text }
warning-line-counts = { $about }: { $warning }, gilt noch. { $text }
link = Die Verbindung
link-lost = verloren
link-back = wieder da
link-asleep = schläft (normal)
link-break = { $adapter } { $state } von { $from } bis { $to } ({ $span }).
link-break-lasts = { $adapter } { $state } seit { $from }, nicht wieder da.
link-line = { $adapter } { $state }: { $from } bis { $to }
link-line-lasts = { $adapter } { $state }: seit { $from }, nicht wieder da
missing = Endgültig verloren
missing-one = { $missing }: Messwert { $number } von { $adapter }, bemerkt { $when }.
missing-many = { $missing }: Messwerte { $first } bis { $last } von { $adapter }, bemerkt { $when }.
missing-line = endgültig verloren: Messwerte { $first } bis { $last } von { $adapter }

# What could not be known

not-known = Was sich nicht feststellen ließ
not-numbered-lost = Adapter { $adapter } nummeriert seine Messwerte nicht: was nicht gehört wurde, ist verloren.
not-which-nor-turn = Adapter { $adapter } meldet, wie fest, nicht welche Verschraubung und nicht, ob sie sich drehte.
not-which = Adapter { $adapter } meldet, wie fest, nicht welche Verschraubung.
no-certificate = Von Adapter { $adapter } ist kein Kalibrierschein hinterlegt.
certificate-overdue = Die Kalibrierung von Adapter { $adapter } war am { $due } fällig: seine Messwerte sind nur ein Anhalt.
certificate-later = Adapter { $adapter } wurde erst am { $date } kalibriert, nach dem Auftrag: was er vorher gemessen hat, ist nur ein Anhalt.
typed-one = 1 Wert wurde getippt: kein Adapter hat ihn gemessen, und nichts belegt das Werkzeug.
typed-many = { $n } Werte wurden getippt: kein Adapter hat sie gemessen, und nichts belegt das Werkzeug.
times-off = Zeiten von Zügen können um bis zu { $span } abweichen.
lost-one = 1 Messwert fehlt nachweislich und endgültig.
lost-many = { $n } Messwerte fehlen nachweislich und endgültig.
more-may-follow = Der Auftrag war noch offen, als dies entstand: es kann mehr folgen.

# How a pull is judged, and what to bear in mind

how-judged = Wie ein Zug beurteilt wird
decision-rule = Ein Zug wird nach seinem abgelesenen Spitzenwert beurteilt (einfache Annahme): in der Toleranz, wenn er zwischen den Grenzwerten liegt, Grenzwerte eingeschlossen. Die Messunsicherheit steht daneben und erweitert die Toleranz nie.
decision-rule-guarded = { $rule } Bei { $groups } wird abgesicherte Annahme verlangt: Ein Zug zählt nur, wenn auch seine Messunsicherheit innerhalb der Grenzwerte liegt.
bear-in-mind = Zu bedenken
caution-load = Drehmoment ist nicht Vorspannkraft. Die Reibung im Gewinde und unter dem Kopf bestimmt, wie viel eines richtigen Drehmoments zu Vorspannkraft wird, und sie streut stark.
caution-values = Die Werte sind die des Plans. Die richtigen stehen in der gültigen Serviceinformation des Herstellers für eben dieses Fahrzeug; vor jeder Verwendung dieser Seite damit vergleichen.
caution-record = Diese Seite hält Messwerte und Aussagen fest. Sie ist kein Befund der Verkehrstauglichkeit und ersetzt keine Prüfung.
caution-calibration = Ein Adapter misst so gut wie seine letzte Kalibrierung. Wo kein Kalibrierschein hinterlegt ist, sind seine Messwerte nur ein Anhalt.
caution-unseen = Kein Adapter sieht eine fehlende Scheibe, eine schmutzige Auflage, das falsche Teil oder den Zustand eines Gewindes. Dazu steht hier nur, was der Bediener bestätigt hat.
caution-spent = Was zu weit angezogen oder wieder gelöst wurde, kann verbraucht sein. Was nur einmal verwendet werden darf, ersetzen.
caution-stands = Unterstellböcke tragen das Fahrzeug, Keile halten es, nie der Wagenheber allein, und volles Drehmoment kann es ins Wanken bringen. Den Adapter nie auf einen Schlagschrauber setzen.
caution-law = Örtliche Vorschriften gehen vor, ebenso der Fachbetrieb, wo das Gesetz ihn verlangt. Räder nach der Strecke nachziehen, die der Hersteller angibt.

# The foot

made = Erstellt { $when } von Clampbook { $version }.
entry-one = 1 Eintrag
entry-many = { $n } Einträge
chain = Das Journal hatte zu diesem Zeitpunkt { $entries }, durch Hashwerte verkettet. Solange der letzte noch den Hashwert { $hash } hat, wurde nichts davor geändert.
chain-line = Das Journal hatte zu diesem Zeitpunkt { $entries }; der letzte hat den Hashwert { $hash }.
digest = Als JSON in kanonischer Form (RFC 8785) hat dieser Bericht den SHA-256-Wert { $digest }. Der Code auf der ersten Seite sagt es ebenso, mit dem Auftrag.
signed = Über diese Form signiert ({ $algorithm }) mit dem Schlüssel { $key }: { $value }.
code-label = Code für eine Kamera: { $text }

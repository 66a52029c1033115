# The words of the report: French. Every file has the same sentences in the same order.

# How a fastener ended

shown = montré
counted = compté
stated = déclaré
open = ouvert
count-only = compté seulement : on ne sait pas lequel
ending-shown = montré : serré selon le plan
ending-counted = compté (compté seulement : on ne sait pas lequel)
ending-stated = déclaré par l’opérateur, non mesuré
ending-open = ouvert
meaning-shown = amené dans sa tolérance, et assez probablement celui-ci
meaning-counted = son groupe a autant de bons serrages que d’éléments
meaning-stated = l’opérateur l’a dit ou tapé ; rien n’a été mesuré
meaning-open = rien de tout cela

# Where a fact comes from

measured = mesuré
inferred = déduit
kinds = { $measured } : vient de l’adaptateur. { $inferred } : ce que le programme en conclut. { $stated } : ce qu’une personne a dit, rien de plus.

# What is concluded of a pull

torque-in = dans la tolérance
torque-low = sous la tolérance
torque-high = au-dessus de la tolérance
torque-none = sans tolérance
act-tighten = serrage
act-recheck = déjà serré, serré de nouveau
act-loosen = desserrage
act-trial = sur rien du plan
basis-plan-order = l’ordre du plan
basis-mark = la parole de l’opérateur
basis-motion = le déplacement de l’outil
basis-rotation = l’angle de rotation du carré
basis-trace = la forme du serrage
basis-torque = la valeur du couple
basis-time = le temps entre les serrages
basis-nothing = rien
share-over = plus de { $share }
share-under = moins de { $share }
counter-clockwise = { $peak } dans le sens antihoraire
at-least = au moins { $limit }

# Kinds of warning

warning-low-torque = resté sous la tolérance
warning-high-torque = au-dessus de la tolérance
warning-order = mauvais ordre
warning-repeat = serré de nouveau alors qu’un autre attend
warning-did-not-turn = n’a pas tourné
warning-skipped = oublié
warning-loosened = desserré
warning-hold-open = serré avant confirmation de son point d’arrêt
warning-redo-slack = à desserrer et à refaire
warning-backed-off = tourné en arrière après avoir atteint le couple
warning-unit-mix-up = unités peut-être confondues
warning-sides-differ = gauche et droite ont tourné différemment
warning-adapter-range = hors de la plage de l’adaptateur
warning-calibration-due = étalonnage à faire
warning-not-certified = hors du certificat
warning-unexpected = ne correspond à rien d’ouvert dans le plan
warning-slipped = a glissé
warning-thread-damage = filetage peut-être endommagé
warning-yielding = s’étire peut-être
warning-link-lost = liaison perdue
warning-gap = des mesures manquent
warning-unknown-name = un nom qui n’est pas dans le plan
warning-past-slot = au-delà du cran suivant
warning-low-angle = resté en deçà de son angle
warning-over-angle = tourné au-delà de son angle
warning-unconfirmed = non confirmé avant la fin
warning-adapter-suspect = adaptateur douteux
warning-guard-band = trop près d’une limite pour être démontré
warning-cured = serré après la prise du frein-filet
warning-driven = serré à la clé à choc, à la main seulement
warning-no-access = serré avec un adaptateur qui n’y accède pas

# What was said, and by what means

origin-command-line = en ligne de commande
origin-page = sur la page
origin-button = avec le bouton de l’adaptateur
origin-recording = dans un enregistrement
origin-typed = tapé
origin-pedal = avec une pédale
origin-by = { $origin }, { $name }
photos = Photos
photo-by = { $about }, de { $name }
said-at = je suis à
said-confirm = condition remplie
said-stated = fait sans l’adaptateur
said-opened = ouvert ou desserré
said-low = resté sous son couple
said-also-opened = ouvert aussi
said-spoiled = demande une pièce neuve
said-figure = mesuré à la main
said-skip = laissé exprès
said-retract = a annulé la dernière parole ou attribution
said-value = valeur que le plan laissait à chercher
said-note = note
not-given = non indiqué
removed = supprimé
left-out = omis
field-vehicle = véhicule
field-vin = VIN
field-plate = plaque
field-operator = opérateur
field-note = note

# What the plan asks

cure-slacken = desserrer, laisser se placer, serrer de nouveau
cure-pull-again = serrer de nouveau une fois la condition remplie
pattern-single = un seul élément
pattern-ring = un cercle, numéroté dans le sens horaire
pattern-line = une rangée
row-order = dans l’ordre écrit, ou le même depuis l’autre bout
expect-window = un couple
expect-by-hand = à la main, aucune mesure attendue
expect-no-figure = aucune valeur publiée, la parole de l’opérateur compte
expect-to-be-looked-up = valeur jamais cherchée
turned-to-reach = pièces tournées pour que chacun vienne à la main
no-recheck = à ne pas resserrer une fois fini
left-hand = filetage à gauche
each-shown = chacun est à montrer, pas seulement à compter
position-unknown = Position selon l’ordre du plan ; cet adaptateur ne peut pas la connaître.
position-partly-unknown = Là où rien d’autre ne l’indique, position selon l’ordre du plan ; cet adaptateur ne peut pas la connaître.
position-assumed = Là où rien d’autre ne l’indique, position selon l’ordre du plan.

# What stands out

report = Rapport de travail { $job }, { $plan }
report-not-closed = Rapport de travail { $job }, { $plan }, travail pas encore fermé
page-title = Travail { $job }, { $plan } : { $headline }
nothing-open = Rien du plan n’est ouvert
open-one = Ouvert : 1 élément de fixation
open-many = Ouvert : { $n } éléments de fixation
unconfirmed-one = Non confirmé : 1 point
unconfirmed-many = Non confirmé : { $n } points
life-critical = Risque vital
critical = { $critical } : ne pas déplacer le véhicule.
critical-line = RISQUE VITAL, ne pas déplacer le véhicule ; { $because }
never-looked-up = sa valeur n’a jamais été cherchée
nobody-stated = personne n’a déclaré que c’est fait
no-pull = aucun serrage enregistré
not-confirmed-because = non confirmé : { $asked }
left-out-as-stated = laissé exprès, selon la déclaration
count-not-enough = le plan demande que chacun soit montré ; un compte ne suffit pas
last-pull = dernier serrage { $peak }, { $verdict }
last-pull-of-pass = dernier serrage { $peak }, { $verdict }, passe { $pass } sur { $passes }
hold-one = 1 point d’arrêt non confirmé
hold-many = { $n } points d’arrêt non confirmés
pull-again = Resserrage de contrôle à faire
counting-one = 1 avertissement compte encore
counting-many = { $n } avertissements comptent encore
recheck-distance = après { $km } km
recheck-day = au plus tard le { $day }
recheck-either = { $distance } ou { $day }
recheck-reminder = { $when } (rappel le { $day } : date de Clampbook, c’est la distance qui compte)
recheck-reminder-alone = comme le dit le plan (rappel le { $day } : date de Clampbook, c’est le plan qui compte)
recheck-usual = { $when }, comme il est d’usage pour une roue ; la distance du constructeur prime

# The job

the-job = Le travail
vehicle = Véhicule
vin = VIN
plate = Plaque
operator = Opérateur
plan = Plan
plan-file = Fichier du plan
started = Commencé
closed = Fermé
parked = Mis de côté
pulls-again = Resserrage
left-open = Resté ouvert
times = Heures
job = Travail
pair = { $term } : { $value }
both = { $one } ; { $other }
not-yet = pas encore
closed-open = { $when }, malgré l’ouvert : { $reason }
from-to = { $from } à { $to }
not-resumed = { $from }, non repris
parked-open = { $span }, ouvert : { $names }
what-job-tightened = ce que le travail { $job } a serré
local-time = heure locale, { $offset }

# What measured

adapters = Adaptateurs
adapter = Adaptateur
no-adapter = Aucun adaptateur n’a servi.
serial = N° de série
range = Plage
accuracy = Exactitude
certificate = Certificat
it-tells = Il indique
readings = Mesures
drive = carré { $drive }
of-reading = ±{ $share } % de la mesure
not-on-record = non enregistré
tells-peak = pic
tells-rotation = angle
tells-trace = courbe
tells-motion = mouvement
tells-button = bouton
not-numbered = non numérotées par lui
certificate-line = { $number }, { $laboratory }, { $date }, échéance { $due }
method = méthode : { $method }
standing-valid = valable ce jour-là
standing-overdue = échu ce jour-là
standing-later = étalonné seulement après le travail
adapter-line = { $adapter }, n° de série { $serial }, { $accuracy }
accuracy-not-on-record = exactitude non enregistrée
certificate-not-on-record = aucun certificat d’étalonnage enregistré
certificate-full = certificat { $number }, { $laboratory }, { $date }, échéance { $due }, { $standing } ; méthode : { $method }
certificate-covers = couvre de { $low } à { $high } N·m, { $directions }
direction-clockwise = sens horaire
direction-counter-clockwise = sens antihoraire
certificate-step = résolution { $step } N·m
certificate-point = à { $torque } N·m { $error } ±{ $uncertainty } N·m
certificate-no-point = aucun point enregistré

# Holds

holds = Points d’arrêt
hold = Point d’arrêt
condition = Condition
confirmed = Confirmé
if-too-early = Si trop tôt
is-confirmed = confirmé
not-confirmed = non confirmé

# A step

critical-joint = Assemblage à risque vital
pass = Passe
target = Couple cible
window = Tolérance
order = Ordre
check-round = passe de contrôle
no-window = aucune
one-alone = un seul
any-order = libre
no-hold = aucun
source = Origine des valeurs
socket = Douille
thread = Filetage
thread-condition = État du filetage
layout = Disposition
after = Après
fastener = Élément
ended = Résultat
last = Dernier serrage
no-pull-on-record = Aucun serrage enregistré.
time = Heure
peak = Pic
pull = Serrage
how-sure = Probab.
basis = Fondement
brought = amené dans sa tolérance : { $share }
still-counting = compte encore
put-right-by-pull = corrigé par le serrage { $number } de l’adaptateur { $adapter }, { $at }
put-right-by-word = corrigé par ce qui a été déclaré, { $at }
turned = tourné de { $angle }
interval = 95 % : { $span }
by-certificate = selon son certificat ±{ $uncertainty } N·m
close-to-limit = près d’une limite
zero-moved = le zéro de son adaptateur avait bougé de { $moved } N·m
revised = révisé
nothing-concluded = aucune conclusion
typed-number = tapé n° { $number }
reading-number = { $adapter } n° { $number }
pass-number = passe { $pass }
no-fastener-of-plan = aucun élément du plan
replaced = Remplacé : d’abord pris pour { $fastener }, { $act }, { $verdict }, { $share }, à cause de : { $basis }.
withdrawn = Révisé : le serrage de { $when } ({ $reading }) avait d’abord été pris pour celui-ci ; il est maintenant pris pour : { $fastener }.
pass-line = passe { $pass } : { $target }
source-line = origine des valeurs : { $source }
fastener-line = { $fastener } : { $ending }, amené dans sa tolérance : { $share } [déduit]
verdict-of-pass = { $verdict }, passe { $pass }
concluded = { $act } [déduit, { $share }, fondement : { $basis }]

# Drawings

ring = Cercle, dans le sens horaire : { $members }
ring-numbered = Numérotés dans le sens horaire, comme l’opérateur les voit ; il commence au 1.
ring-counted = Compté veut dire compté seulement : on ne sait pas lequel.
ring-share = Le pourcentage est déduit : la probabilité que celui-ci ait été amené dans sa tolérance et pas desserré depuis.
ring-order = Le chiffre à l’intérieur dit dans quel ordre ils ont été serrés en dernier (déduit).
ring-pitch-circle = Diamètre de perçage { $diameter } mm.
trace = Couple du serrage de { $when }
trace-caption = Couple de { $when }. ▲ pic selon l’adaptateur, bande : tolérance.
trace-caption-snug = Couple de { $when }. ▲ pic selon l’adaptateur, ○ accostage, bande : tolérance.
plot-angle = angle, degrés
plot-time = temps, secondes
plot-time-without-pauses = temps, secondes, sans les pauses
plot-torque = couple, { $unit }
plot-window = tolérance

# Lists

how-to-read = Comment lire ceci
no-fastener = Serrages qui ne correspondent à aucun élément
without-a-job = Enregistré entre-temps, hors travail
loose-typed = valeur tapée { $number } : { $peak }
loose-reading = mesure { $number } de l’adaptateur { $adapter } : { $peak }
loose-missing = les mesures { $first } à { $last } de l’adaptateur { $adapter } manquent
operator-said = Ce que l’opérateur a dit
nothing-said = Rien.
said = Dit
about = Au sujet de
how = Comment
nothing-named = rien de nommé
corrected = Corrigé plus tard
correction = { $when }, sur l’entrée { $entry }, { $field } : { $text }
correction-line = sur l’entrée { $entry }, { $field } : { $text }
before = (avant : { $text })
warnings = Avertissements
no-warning = Aucun.
kind = Type
what-was-said = Ce qui a été dit
now = Maintenant
none-named = aucun
for-the-record = pour mémoire
whole-job = le travail
hold-line = non confirmé : { $hold } : { $text }
recheck-line = resserrage de contrôle : { $group }, { $when }
counting-line = compte encore : { $about } : { $warning }. { $text }
warning-line = { $about } : { $warning }. { $text }
warning-line-counts = { $about } : { $warning }, compte encore. { $text }
link = La liaison
link-lost = perdu
link-back = revenu
link-asleep = en veille (normal)
link-break = { $adapter } { $state } de { $from } à { $to } ({ $span }).
link-break-lasts = { $adapter } { $state } depuis { $from }, pas revenu.
link-line = { $adapter } { $state } : { $from } à { $to }
link-line-lasts = { $adapter } { $state } : depuis { $from }, pas revenu
missing = Perdu pour de bon
missing-one = { $missing } : mesure { $number } de { $adapter }, constaté { $when }.
missing-many = { $missing } : mesures { $first } à { $last } de { $adapter }, constaté { $when }.
missing-line = perdu pour de bon : mesures { $first } à { $last } de { $adapter }

# What could not be known

not-known = Ce qui n’a pas pu être connu
not-numbered-lost = L’adaptateur { $adapter } ne numérote pas ses mesures : ce qui n’a pas été entendu est perdu.
not-which-nor-turn = L’adaptateur { $adapter } indique le serrage, pas quel élément ni s’il a tourné.
not-which = L’adaptateur { $adapter } indique le serrage, pas quel élément.
no-certificate = Aucun certificat d’étalonnage de l’adaptateur { $adapter } n’est enregistré.
certificate-overdue = L’étalonnage de l’adaptateur { $adapter } arrivait à échéance le { $due } : ses mesures ne sont qu’une indication.
certificate-later = L’adaptateur { $adapter } n’a été étalonné que le { $date }, après le travail : ce qu’il a mesuré avant n’est qu’une indication.
typed-one = 1 valeur a été tapée : aucun adaptateur ne l’a mesurée, et rien n’atteste l’outil.
typed-many = { $n } valeurs ont été tapées : aucun adaptateur ne les a mesurées, et rien n’atteste l’outil.
times-off = Les heures des serrages peuvent s’écarter de { $span } au plus.
lost-one = On sait qu’il manque 1 mesure pour de bon.
lost-many = On sait qu’il manque { $n } mesures pour de bon.
more-may-follow = Le travail était encore ouvert quand ceci a été fait : la suite peut venir.

# How a pull is judged, and what to bear in mind

how-judged = Comment un serrage est jugé
decision-rule = Un serrage est jugé sur son pic tel qu’il a été lu (acceptation simple) : dans la tolérance s’il est entre les limites, limites comprises. L’incertitude du pic figure à côté et n’élargit jamais la tolérance.
decision-rule-guarded = { $rule } Pour { $groups }, une acceptation avec marge est demandée : un serrage ne compte que si son incertitude aussi reste dans les limites.
bear-in-mind = À retenir
caution-load = Le couple n’est pas la force de serrage. Le frottement dans le filetage et sous la tête décide de ce qu’un couple correct donne de force, et il varie beaucoup.
caution-values = Les valeurs sont celles du plan. Les bonnes viennent des données de réparation en vigueur du constructeur pour ce véhicule précis ; comparez-les avant de vous fier à cette page.
caution-record = Cette page consigne des mesures et des paroles. Elle ne constate pas l’aptitude à circuler et ne remplace pas un contrôle.
caution-calibration = Un adaptateur mesure aussi bien que son dernier étalonnage. Là où aucun certificat n’est enregistré, ses mesures ne sont qu’une indication.
caution-unseen = Aucun adaptateur ne voit une rondelle manquante, une portée sale, la mauvaise pièce ni l’état d’un filetage. Pour cela, cette page n’a que ce que l’opérateur a confirmé.
caution-spent = Ce qui a été trop serré, ou desserré, peut être usé. Remplacez ce qui ne sert qu’une fois.
caution-stands = Les chandelles portent le véhicule et les cales le retiennent, jamais le cric seul, et le plein couple peut le faire basculer. N’utilisez pas l’adaptateur sur une clé à chocs.
caution-law = Les règles locales priment, et le professionnel agréé là où la loi l’exige. Contrôlez de nouveau les roues après la distance donnée par leur constructeur.

# The foot

made = Fait { $when } par Clampbook { $version }.
entry-one = 1 entrée
entry-many = { $n } entrées
chain = Le journal avait alors { $entries }, enchaînées par leurs empreintes. Tant que la dernière a encore l’empreinte { $hash }, rien avant elle n’a été changé.
chain-line = Le journal avait alors { $entries } ; la dernière a l’empreinte { $hash }.
digest = Écrit en JSON sous forme canonique (RFC 8785), ce rapport a l’empreinte SHA-256 { $digest }. Le code de la première page la donne aussi, avec le travail.
signed = Signé sur cette forme ({ $algorithm }) avec la clé { $key } : { $value }.
code-label = Code pour une caméra : { $text }

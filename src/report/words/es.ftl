# The words of the report: Spanish. Every file has the same sentences in the same order.

# How a fastener ended

shown = mostrado
counted = contado
stated = declarado
open = abierto
count-only = solo contado: no se sabe cuál
ending-shown = mostrado: apretado según el plan
ending-counted = contado (solo contado: no se sabe cuál)
ending-stated = declarado por el operario, no medido
ending-open = abierto
meaning-shown = llevado a su tolerancia, y con probabilidad suficiente de que sea este mismo
meaning-counted = su grupo tiene tantos aprietes buenos como elementos
meaning-stated = lo dijo o escribió el operario; no se midió nada
meaning-open = nada de lo anterior

# Where a fact comes from

measured = medido
inferred = inferido
kinds = { $measured }: del adaptador. { $inferred }: lo que concluye el programa. { $stated }: lo que dijo una persona, y nada más.

# What is concluded of a pull

torque-in = dentro de la tolerancia
torque-low = por debajo de la tolerancia
torque-high = por encima de la tolerancia
torque-none = sin tolerancia
act-tighten = apriete
act-recheck = ya apretado, apretado otra vez
act-loosen = aflojado
act-trial = en nada del plan
basis-plan-order = el orden del plan
basis-mark = la palabra del operario
basis-motion = cuánto se movió la herramienta
basis-rotation = cuánto giró el cuadrado
basis-trace = la forma del apriete
basis-torque = cómo encaja el par
basis-time = el tiempo entre aprietes
basis-nothing = nada
share-over = más de { $share }
share-under = menos de { $share }
counter-clockwise = { $peak } en sentido antihorario
at-least = al menos { $limit }

# Kinds of warning

warning-low-torque = quedó por debajo de la tolerancia
warning-high-torque = por encima de la tolerancia
warning-order = orden equivocado
warning-repeat = apretado otra vez mientras otro espera
warning-did-not-turn = no giró
warning-skipped = omitido
warning-loosened = aflojado
warning-hold-open = apretado antes de confirmar su punto de espera
warning-redo-slack = hay que aflojar y repetir
warning-backed-off = girado atrás tras alcanzar el par
warning-unit-mix-up = posible confusión de unidades
warning-sides-differ = izquierda y derecha giraron distinto
warning-adapter-range = fuera del rango del adaptador
warning-calibration-due = calibración pendiente
warning-not-certified = fuera del certificado
warning-unexpected = no corresponde a nada abierto en el plan
warning-slipped = resbaló
warning-thread-damage = posible daño en la rosca
warning-yielding = posible fluencia del tornillo
warning-link-lost = enlace perdido
warning-gap = faltan lecturas
warning-unknown-name = un nombre que no está en el plan
warning-past-slot = más allá de la ranura siguiente
warning-low-angle = quedó corto de su ángulo
warning-over-angle = girado más allá de su ángulo
warning-unconfirmed = sin confirmar antes del final
warning-adapter-suspect = adaptador en duda
warning-guard-band = demasiado cerca de un límite para quedar demostrado
warning-cured = apretado cuando el fijador de roscas ya había curado
warning-driven = apretado con llave de impacto, solo a mano
warning-no-access = apretado con un adaptador que no llega

# What was said, and by what means

origin-command-line = en la línea de órdenes
origin-page = en la página
origin-button = con el botón del adaptador
origin-recording = en una grabación
origin-typed = escrito
origin-pedal = con un pedal
origin-by = { $origin }, { $name }
photos = Fotos
photo-by = { $about }, de { $name }
said-at = estoy en
said-confirm = condición cumplida
said-stated = hecho sin el adaptador
said-opened = abierto o aflojado
said-low = quedó por debajo de su par
said-also-opened = también abierto
said-spoiled = necesita una pieza nueva
said-figure = medido a mano
said-skip = omitido a propósito
said-retract = deshizo lo último dicho o asignado
said-value = valor que el plan dejó por buscar
said-note = nota
not-given = sin indicar
removed = borrado
left-out = omitido
field-vehicle = vehículo
field-vin = VIN
field-plate = matrícula
field-operator = operario
field-note = nota

# What the plan asks

cure-slacken = aflojar, dejar asentar, apretar otra vez
cure-pull-again = apretar otra vez cuando se cumpla
pattern-single = un solo elemento
pattern-ring = un círculo, numerado en sentido horario
pattern-line = una fila
row-order = orden como está escrito, o el mismo desde el otro extremo
expect-window = un par
expect-by-hand = a mano, no se espera lectura
expect-no-figure = sin valor publicado, vale la palabra del operario
expect-to-be-looked-up = valor nunca buscado
turned-to-reach = piezas giradas para que cada uno quede a mano
no-recheck = no volver a apretar una vez terminado
left-hand = rosca a izquierdas
each-shown = cada uno debe mostrarse, no solo contarse
position-unknown = Posición según el orden del plan; este adaptador no la puede saber.
position-partly-unknown = Donde nada más lo indica, posición según el orden del plan; este adaptador no la puede saber.
position-assumed = Donde nada más lo indica, posición según el orden del plan.

# What stands out

report = Informe de trabajo { $job }, { $plan }
report-not-closed = Informe de trabajo { $job }, { $plan }, trabajo aún sin cerrar
page-title = Trabajo { $job }, { $plan }: { $headline }
nothing-open = No queda nada abierto del plan
open-one = Abierto: 1 elemento de fijación
open-many = Abierto: { $n } elementos de fijación
unconfirmed-one = Sin confirmar: 1 punto
unconfirmed-many = Sin confirmar: { $n } puntos
life-critical = Riesgo vital
critical = { $critical }: no mueva el vehículo.
critical-line = RIESGO VITAL, no mueva el vehículo; { $because }
never-looked-up = su valor nunca se buscó
nobody-stated = nadie declaró que esté hecho
no-pull = ningún apriete registrado
not-confirmed-because = sin confirmar: { $asked }
left-out-as-stated = omitido a propósito, según se declaró
count-not-enough = el plan pide que cada uno se muestre; contarlo no basta
last-pull = último apriete { $peak }, { $verdict }
last-pull-of-pass = último apriete { $peak }, { $verdict }, pasada { $pass } de { $passes }
hold-one = 1 punto de espera sin confirmar
hold-many = { $n } puntos de espera sin confirmar
pull-again = Reapriete pendiente
counting-one = 1 aviso sigue vigente
counting-many = { $n } avisos siguen vigentes
recheck-distance = tras { $km } km
recheck-day = a más tardar el { $day }
recheck-either = { $distance } o { $day }
recheck-reminder = { $when } (recordatorio el { $day }: fecha de Clampbook, cuenta la distancia)
recheck-reminder-alone = como dice el plan (recordatorio el { $day }: fecha de Clampbook, cuenta el plan)
recheck-usual = { $when }, como es habitual en una rueda; prevalece la distancia del fabricante

# The job

the-job = El trabajo
vehicle = Vehículo
vin = VIN
plate = Matrícula
operator = Operario
plan = Plan
plan-file = Archivo del plan
started = Iniciado
closed = Cerrado
parked = Aparcado
pulls-again = Reapriete
left-open = Quedó abierto
times = Horas
job = Trabajo
pair = { $term }: { $value }
both = { $one }; { $other }
not-yet = aún no
closed-open = { $when }, con algo abierto: { $reason }
from-to = { $from } a { $to }
not-resumed = { $from }, sin reanudar
parked-open = { $span }, abierto: { $names }
what-job-tightened = lo que apretó el trabajo { $job }
local-time = hora local, { $offset }

# What measured

adapters = Adaptadores
adapter = Adaptador
no-adapter = No intervino ningún adaptador.
serial = N.º de serie
range = Rango
accuracy = Exactitud
certificate = Certificado
it-tells = Indica
readings = Lecturas
drive = cuadrado { $drive }
of-reading = ±{ $share } % de la lectura
not-on-record = no consta
tells-peak = pico
tells-rotation = ángulo
tells-trace = curva
tells-motion = movimiento
tells-button = botón
not-numbered = no numeradas por él
certificate-line = { $number }, { $laboratory }, { $date }, vence { $due }
method = método: { $method }
standing-valid = válido ese día
standing-overdue = vencido ese día
standing-later = calibrado solo después del trabajo
adapter-line = { $adapter }, n.º de serie { $serial }, { $accuracy }
accuracy-not-on-record = exactitud: no consta
certificate-not-on-record = no consta certificado de calibración
certificate-full = certificado { $number }, { $laboratory }, { $date }, vence { $due }, { $standing }; método: { $method }
certificate-covers = cubre de { $low } a { $high } N·m, { $directions }
direction-clockwise = sentido horario
direction-counter-clockwise = sentido antihorario
certificate-step = resolución { $step } N·m
certificate-point = a { $torque } N·m { $error } ±{ $uncertainty } N·m
certificate-no-point = no consta ningún punto

# Holds

holds = Puntos de espera
hold = Punto de espera
condition = Condición
confirmed = Confirmado
if-too-early = Si es antes
is-confirmed = confirmado
not-confirmed = sin confirmar

# A step

critical-joint = Unión con riesgo vital
pass = Pasada
target = Par nominal
window = Tolerancia
order = Orden
check-round = ronda de control
no-window = ninguna
one-alone = uno solo
any-order = cualquiera
no-hold = ninguno
source = Origen de los valores
socket = Llave de vaso
thread = Rosca
thread-condition = Estado de la rosca
layout = Disposición
after = Después de
fastener = Elemento
ended = Resultado
last = Último apriete
no-pull-on-record = Ningún apriete registrado.
time = Hora
peak = Pico
pull = Apriete
how-sure = Probab.
basis = Fundamento
brought = llevado a su tolerancia: { $share }
still-counting = sigue vigente
put-right-by-pull = corregido con el apriete { $number } del adaptador { $adapter }, { $at }
put-right-by-word = corregido por lo declarado, { $at }
turned = giró { $angle }
interval = 95 %: { $span }
by-certificate = según su certificado ±{ $uncertainty } N·m
close-to-limit = cerca de un límite
zero-moved = el cero de su adaptador se había movido { $moved } N·m
revised = revisado
nothing-concluded = sin conclusión
typed-number = escrito n.º { $number }
reading-number = { $adapter } n.º { $number }
pass-number = pasada { $pass }
no-fastener-of-plan = ningún elemento del plan
replaced = Sustituido: tomado primero por { $fastener }, { $act }, { $verdict }, { $share }, por: { $basis }.
withdrawn = Revisado: el apriete de { $when } ({ $reading }) se tomó primero por este; ahora se toma por: { $fastener }.
pass-line = pasada { $pass }: { $target }
source-line = origen de los valores: { $source }
fastener-line = { $fastener }: { $ending }, llevado a su tolerancia: { $share } [inferido]
verdict-of-pass = { $verdict }, pasada { $pass }
concluded = { $act } [inferido, { $share }, por: { $basis }]

# Drawings

ring = Círculo, en sentido horario: { $members }
ring-numbered = Numerados en sentido horario tal como los ve el operario; empieza por el 1.
ring-counted = Contado significa solo contado: no se sabe cuál.
ring-share = El porcentaje es inferido: la probabilidad de que este se llevara a su tolerancia y no se aflojara después.
ring-order = La cifra del interior dice en qué orden se apretaron por última vez (inferido).
ring-pitch-circle = Diámetro entre centros { $diameter } mm.
trace = Par del apriete de { $when }
trace-caption = Par de { $when }. ▲ pico según el adaptador, banda: tolerancia.
trace-caption-snug = Par de { $when }. ▲ pico según el adaptador, ○ asiento, banda: tolerancia.
plot-angle = ángulo, grados
plot-time = tiempo, segundos
plot-time-without-pauses = tiempo, segundos, sin las pausas
plot-torque = par, { $unit }
plot-window = tolerancia

# Lists

how-to-read = Cómo leer esto
no-fastener = Aprietes que no corresponden a ningún elemento
without-a-job = Registrado entretanto, sin trabajo
loose-typed = valor escrito { $number }: { $peak }
loose-reading = lectura { $number } del adaptador { $adapter }: { $peak }
loose-missing = faltan las lecturas { $first } a { $last } del adaptador { $adapter }
operator-said = Lo que dijo el operario
nothing-said = Nada.
said = Dicho
about = Sobre
how = Cómo
nothing-named = nada nombrado
corrected = Corregido después
correction = { $when }, sobre la entrada { $entry }, { $field }: { $text }
correction-line = sobre la entrada { $entry }, { $field }: { $text }
before = (antes: { $text })
warnings = Avisos
no-warning = Ninguno.
kind = Tipo
what-was-said = Qué se dijo
now = Ahora
none-named = ninguno
for-the-record = solo consta
whole-job = el trabajo
hold-line = sin confirmar: { $hold }: { $text }
recheck-line = reapriete: { $group }, { $when }
counting-line = sigue vigente: { $about }: { $warning }. { $text }
warning-line = { $about }: { $warning }. { $text }
warning-line-counts = { $about }: { $warning }, sigue vigente. { $text }
link = El enlace
link-lost = perdido
link-back = de vuelta
link-asleep = dormido (normal)
link-break = { $adapter } { $state } de { $from } a { $to } ({ $span }).
link-break-lasts = { $adapter } { $state } desde { $from }, no ha vuelto.
link-line = { $adapter } { $state }: { $from } a { $to }
link-line-lasts = { $adapter } { $state }: desde { $from }, no ha vuelto
missing = Perdido para siempre
missing-one = { $missing }: lectura { $number } de { $adapter }, advertido { $when }.
missing-many = { $missing }: lecturas { $first } a { $last } de { $adapter }, advertido { $when }.
missing-line = perdido para siempre: lecturas { $first } a { $last } de { $adapter }

# What could not be known

not-known = Lo que no se pudo saber
not-numbered-lost = El adaptador { $adapter } no numera sus lecturas: lo que no se oyó está perdido.
not-which-nor-turn = El adaptador { $adapter } indica cuánto aprieta, no qué elemento ni si giró.
not-which = El adaptador { $adapter } indica cuánto aprieta, no qué elemento.
no-certificate = No consta certificado de calibración del adaptador { $adapter }.
certificate-overdue = La calibración del adaptador { $adapter } vencía el { $due }: tome sus lecturas como orientación.
certificate-later = El adaptador { $adapter } se calibró solo el { $date }, después del trabajo: lo que midió antes es una orientación.
typed-one = Se escribió 1 valor: ningún adaptador lo midió, y nada demuestra la herramienta.
typed-many = Se escribieron { $n } valores: ningún adaptador los midió, y nada demuestra la herramienta.
times-off = Las horas de los aprietes pueden desviarse hasta { $span }.
lost-one = Se sabe que falta 1 lectura para siempre.
lost-many = Se sabe que faltan { $n } lecturas para siempre.
more-may-follow = El trabajo seguía abierto cuando se hizo esto: puede haber más.

# How a pull is judged, and what to bear in mind

how-judged = Cómo se juzga un apriete
decision-rule = Un apriete se juzga por su pico tal como se leyó (aceptación simple): dentro de la tolerancia si está entre los límites, límites incluidos. La incertidumbre del pico figura al lado y nunca amplía la tolerancia.
decision-rule-guarded = { $rule } En { $groups } se exige aceptación con margen: un apriete solo cuenta si también su incertidumbre queda dentro de los límites.
bear-in-mind = Téngase en cuenta
caution-load = El par no es la fuerza de apriete. El rozamiento en la rosca y bajo la cabeza decide cuánto de un par correcto se convierte en fuerza, y varía mucho.
caution-values = Los valores son los del plan. Los correctos están en la información de servicio vigente del fabricante para este mismo vehículo; compárelos antes de fiarse de esta página.
caution-record = Esta página recoge lecturas y lo que se dijo. No es un dictamen de aptitud para circular ni sustituye una inspección.
caution-calibration = Un adaptador mide tan bien como su última calibración. Donde no conste certificado, tome sus lecturas como orientación.
caution-unseen = Ningún adaptador ve una arandela que falta, un asiento sucio, la pieza equivocada ni el estado de una rosca. Sobre eso, aquí solo está lo que confirmó el operario.
caution-spent = Lo que se apretó de más o se aflojó puede estar agotado. Sustituya lo que es de un solo uso.
caution-stands = Los caballetes sostienen el vehículo y los calzos lo retienen, nunca el gato solo, y el par completo puede hacerlo oscilar. No use el adaptador con llaves de impacto.
caution-law = Prevalecen las normas locales, y el taller autorizado donde la ley lo exija. Compruebe las ruedas de nuevo tras la distancia que indique su fabricante.

# The foot

made = Hecho { $when } por Clampbook { $version }.
entry-one = 1 entrada
entry-many = { $n } entradas
chain = El diario tenía entonces { $entries }, encadenadas por sus resúmenes criptográficos. Mientras la última conserve el resumen { $hash }, nada anterior fue cambiado.
chain-line = El diario tenía entonces { $entries }; la última tiene el resumen criptográfico { $hash }.
digest = Escrito como JSON en forma canónica (RFC 8785), este informe tiene el resumen SHA-256 { $digest }. El código de la primera página lo dice también, con el trabajo.
signed = Firmado sobre esa forma ({ $algorithm }) con la clave { $key }: { $value }.
code-label = Código para una cámara: { $text }

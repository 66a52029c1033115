# What the program makes of sentences while it works: Spanish. Every file has the same sentences in the same order.

# Warnings of torque, order and round

low = { $name } quedó por debajo: { $against }. Vuelva a apretarlo.
low-somewhere = En { $group } uno quedó por debajo o se dejó sin apretar, y no se sabe cuál: el último apriete bajo fue de { $against }. Dé otra vuelta.
high = Alto. { $name } está pasado: { $against }. Un buen apriete posterior no lo arregla: { $remedy }.
order = { $group } se apretó { $pulled }, y eso no es en cruz (el plan dice { $order }). ¿Asienta plano? En la duda: todos de nuevo a tope a mano, y otra vez.
order-middle = { $group } se apretó { $pulled }, y eso no es del centro hacia fuera ({ $order }, o desde el otro extremo { $mirrored }). ¿Asienta plano? En la duda: todos de nuevo a tope a mano, y otra vez.
order-row = { $group } se apretó { $pulled }, y eso no es como dice el plan ({ $order }, o desde el otro extremo { $mirrored }). ¿Asienta plano? En la duda: todos de nuevo a tope a mano, y otra vez.
order-plan = { $group } se apretó { $pulled }, y eso no es como dice el plan ({ $order }). ¿Asienta plano? En la duda: todos de nuevo a tope a mano, y otra vez.
pass-left-out = { $group } se aprieta directamente a { $target }: la pasada { $pass } de { $passes } ({ $first }) se dejó sin hacer. ¿Asienta plano? En la duda: todos de nuevo a tope a mano, y otra vez.
too-early = { $other } va antes de { $group } y no está terminado.
repeat = { $name } ya estaba apretado y se apretó otra vez. Faltan aún: { $waiting }.
repeat-by-order = { $name } ya estaba apretado y se apretó otra vez. Faltan aún: { $waiting } (según el orden del plan).
repeat-one = Uno que ya estaba apretado se apretó otra vez. Faltan aún: { $waiting }.
repeat-one-by-order = Uno que ya estaba apretado se apretó otra vez. Faltan aún: { $waiting } (según el orden del plan).
repeat-late = { $name } ya estaba apretado y se apretó otra vez. En el grupo ya no falta ninguno.
repeat-late-by-order = { $name } ya estaba apretado y se apretó otra vez. En el grupo ya no falta ninguno (según el orden del plan).
repeat-one-late = Uno que ya estaba apretado se apretó otra vez. En el grupo ya no falta ninguno.
repeat-one-late-by-order = Uno que ya estaba apretado se apretó otra vez. En el grupo ya no falta ninguno (según el orden del plan).
did-not-turn = Alto. { $name } llegó al par sin girar, y ningún apriete anterior lo explica: pasado por la pistola, gripado o sin asentar. Aflójelo, mire y vuelva a apretar.
did-not-turn-bearing = Alto. { $name } no giró: sigue tan apretado como antes. Retrocédalo como dice el plan y vuelva a apretar.
skipped = { $name } se dejó sin apretar. Vuelva a él.
skipped-by-order = { $name } se dejó sin apretar (según el orden del plan). Vuelva a él.
skipped-pass = { $name } se dejó sin apretar en la pasada { $pass } de { $passes }. Vuelva a él.
skipped-pass-by-order = { $name } se dejó sin apretar en la pasada { $pass } de { $passes } (según el orden del plan). Vuelva a él.
skipped-one = En { $group } uno se dejó sin apretar; no se sabe cuál. Dé otra vuelta.
skipped-one-pass = En { $group } uno se dejó sin apretar en la pasada { $pass } de { $passes }; no se sabe cuál. Dé otra vuelta.
skipped-some = En { $group } uno se dejó sin apretar: { $suspects }. Vuelva a esos.
skipped-some-pass = En { $group } uno se dejó sin apretar en la pasada { $pass } de { $passes }: { $suspects }. Vuelva a esos.
never-done = { $name } no se llevó nunca al par: { $asked }.
none-done = Nada de { $group } se llevó al par: { $asked }.
loosened = { $name } se giró hacia atrás después de terminado. Cuenta como abierto: vuelva a apretarlo.
hold-open = Alto. { $name } se apretó antes de confirmar «{ $question }». { $cure }
redo-slack = { $name } se apretó antes de confirmar { $hold }, y apretar otra vez no lo arregla: aflójelo, deje que asiente y vuelva a apretar. Una pieza de un solo uso queda gastada.
value-first = Alto. { $name } se apretó y su valor aún está por buscar: nada dice si basta. Dé el valor (value { $fact } "26 N·m"): el apriete se juzga entonces por él.
redo-threads = { $name } se apretó cuando sus roscas no estaban como pide su valor, y apretar otra vez no lo arregla: aflójelo, compruebe que ahora lo están y vuelva a apretar. Una pieza de un solo uso queda gastada.

# Warnings of adapters, names and links

range = { $peak } está fuera de lo que mide el adaptador { $adapter } ({ $span } N·m). No cuenta: apriete con un adaptador cuyo rango lo cubra.
unexpected = Un apriete de { $peak } no encaja con nada que esté abierto en el plan.
unknown-name = «{ $said }» no está en el plan; la indicación se anotó y no cambia nada.
no-figure-name = Se esperaba el nombre de una condición, de algo anotado al abrir, del agarre de una tuerca o de las roscas de una unión, pero se dijo «{ $said }»; la indicación se anotó y no cambia nada.
no-figure-torque = Para { $hold } se esperaba un par como `9 N·m`, pero se dijo «{ $said }»; la indicación se anotó y no cambia nada.
no-figure-threads = Para { $hold } se esperaba uno de dry, as-supplied, light-oil, paste y thread-locker, pero se dijo «{ $said }»; la indicación se anotó y no cambia nada.
no-figure-length = Para { $hold } se esperaba una longitud como `512 mm`, pero se dijo «{ $said }»; la indicación se anotó y no cambia nada.
not-also = «{ $said }» no es un nombre nuevo como «hose-clip»; la indicación se anotó y no cambia nada.
link-lost = Se perdió el enlace con el adaptador { $adapter }. Los aprietes de ahora solo se oirán si él los guarda.
gap-one = Falta la lectura { $number } del adaptador { $adapter }: compruebe para qué era.
gap-many = Faltan las lecturas { $number } a { $last } del adaptador { $adapter }: compruebe para qué eran.
zero-moved = El adaptador { $adapter } muestra sin carga { $nm } N·m { $way } que en el primer apriete de este trabajo, y en eso mismo pueden errar sus picos. Póngalo a cero sin carga y compárelo con un par conocido.
zero-jumped = El adaptador { $adapter }: su cero ha saltado. Mostró { $nm } N·m sin carga antes de cada uno de sus últimos { $ways } aprietes, y en eso mismo yerran sus picos. No se fíe de él hasta que su cero esté bien y coincida con un par conocido; entonces confirme checked:{ $again }.
zero-jumped-touched = El adaptador { $adapter }: su cero ha saltado. Mostró { $nm } N·m sin carga antes de cada uno de sus últimos { $ways } aprietes, y en eso mismo yerran sus picos. No se fíe de él hasta que su cero esté bien y coincida con un par conocido; entonces confirme checked:{ $again }. Dentro solo por eso: { $touched }. Vuelva a apretar.
only-by-zero = { $name }: { $peak } está dentro de su margen solo porque el cero del adaptador { $adapter } está desviado { $nm } N·m. No cuenta: ponga el adaptador a cero sin carga y vuelva a apretar.
units = Hasta ahora cada apriete del adaptador { $adapter } llegó a { $ratio } veces lo pedido, como si { $meant } se hubiera tomado por { $taken }. Mire la unidad en el adaptador y en el plan. No se corrigió nada.
overloaded = El adaptador { $adapter } se sobrecargó: { $nm } N·m, y mide hasta { $most }. No se fíe de él hasta que su cero esté bien y coincida con un par conocido; entonces confirme checked:{ $again }.
hit = El adaptador { $adapter } recibió golpes de una herramienta de impacto. No se fíe de él hasta que su cero esté bien y coincida con un par conocido; entonces confirme checked:{ $again }.
overdue = El adaptador { $adapter } debía calibrarse el { $day }: lo que dice se guarda, sin certificado válido. Use otro para lo que haya que demostrar y hágalo calibrar.
uncovered = { $name }: { $nm } N·m queda fuera de lo que cubre el certificado del adaptador { $adapter }, { $span } N·m. Se guarda, y nada certificado se dice de ello.
uncovered-left = { $name } se apretó en sentido antihorario, y el adaptador { $adapter } no está calibrado en ese sentido. Se guarda, y nada certificado se dice de ello.
uncovered-right = { $name } se apretó en sentido horario, y el adaptador { $adapter } no está calibrado en ese sentido. Se guarda, y nada certificado se dice de ello.

# Warnings of joints by their own rules

backed-off = { $name } se giró hacia atrás después de tener su par. Solo va hacia adelante: vuelva a apretar, hasta la ranura siguiente, o empiece con una tuerca nueva.
past-slot = { $name } avanzó { $went }° después de su par mínimo; la ranura siguiente está como mucho a { $pitch }°, y no hay máximo publicado. Aflójelo, mire rosca y arandela, y vuelva a apretar hasta la primera ranura.
over-angle = Alto. { $name } se giró demasiado: { $turned }°, pero se piden { $asked }°. Girar hacia atrás no lo arregla: sáquelo y ponga uno nuevo.
low-angle = { $name } se quedó corto de ángulo: { $turned }°, pero se piden { $asked }°. Gírelo { $more }° más.
weak = Alto. { $name } tiene su ángulo sin el par que le corresponde: { $against }. Puede que ceda o que se vaya la rosca: sáquelo, mire la rosca y ponga uno nuevo.
sides-differ = { $name } giró { $one }° para su par y { $other } giró { $two }°. Mire los dos: ¿las mismas piezas, lo mismo en las roscas, asentados, y ninguno más apretado con pistola que los demás?
threads = Alto. { $group }: su valor vale para roscas { $asked }, y estas están { $found }. No se recalculó nada: déjelas así, o busque el valor para como están. Lo que se apretó de ese modo se afloja primero. No está confirmado.
threads-harder = Alto. { $group }: su valor vale para roscas { $asked }, y estas están { $found }. El mismo par aprieta entonces un { $more } % más, según tablas corrientes, que son aproximadas. No se recalculó nada: déjelas así, o busque el valor para como están. Lo que se apretó de ese modo se afloja primero. No está confirmado.
threads-less = Alto. { $group }: su valor vale para roscas { $asked }, y estas están { $found }. El mismo par aprieta entonces un { $more } % menos, según tablas corrientes, que son aproximadas. No se recalculó nada: déjelas así, o busque el valor para como están. Lo que se apretó de ese modo se afloja primero. No está confirmado.
threads-by-word = De las roscas de { $group } se dijo que están { $found }, y se piden { $asked }: un simple sí no lo retira. Déjelas así y diga lo que llevan ahora (figure threads:{ $fact } "{ $said }"), o confírmelo con el motivo.
pulled-with = Alto. { $name } se apretó estando sus roscas { $found }, y su valor vale para roscas { $asked }. Este apriete no cuenta: aflójelo, déjelas así y vuelva a apretar.
driven = Alto. { $name } se apretó con una herramienta de impacto, y va solo a mano. No cuenta: { $remedy }.
slipped = { $name }: por su curva, la herramienta resbaló. ¿Está el vaso bien metido y están enteras las aristas? Lo que se alcanzó vale como se midió.
gives = Alto. { $name }: por su curva, el par bajó mientras seguía girando. Puede que la rosca esté cediendo: aflójelo, sáquelo, mire las dos roscas y ponga piezas nuevas si no están enteras.
no-access = { $name } se apretó con el adaptador, y según su plan { $blocked }. La lectura no prueba nada: diga que está hecho (stated), o escriba en el plan con qué llegó.
not-slackened = { $name } se apretó tal como estaba, y su reapriete pide aflojarlo antes. No cuenta: aflójelo y vuelva a apretarlo.
unconfirmed = Sin confirmar: «{ $question }» El trabajo no se cierra antes.
not-at-height = { $hold }: { $mm } mm, pero se encontró a { $found } mm, y solo puede diferir en { $within } mm. Está { $way } por { $off } mm: ajústelo y mida otra vez. No está confirmado.
unproven-unsure = { $name }: { $peak } está dentro de su ventana, pero el plan pide prueba y el adaptador { $adapter } no es bastante exacto para darla. No cuenta: use uno que lo sea.
unproven = { $name }: { $peak } está dentro de su ventana por menos de lo que el adaptador { $adapter } asegura, y el plan pide prueba (aceptación con resguardo): cuenta { $limits }. { $cure }.
cured = { $name } se apretó { $minutes } min después de su primer apriete, y su fijador solo admite { $allowed } min de trabajo: ahora está roto. Sáquelo, límpielo, ponga fijador nuevo y vuelva a apretar.

# What is asked before a job is closed

question-closed = { $thing }: ¿cerrado otra vez?
question-out = { $thing }: ¿fuera otra vez?
question-noted = { $thing } ¿Anotado?
question-told = { $thing } ¿Dicho (`figure { $fact } "512 mm"`)?
question-threads-are = { $thing }: sus roscas están { $found }. Déjelas { $asked } y dígalo (`figure threads:{ $fact } "{ $said }"`), o confírmelo con el motivo.
question-snug = Primero a tope a mano. { $question }
question-turned = { $thing }: ¿girado { $angles } después de su par?
question-grip = { $thing }: ¿par de freno dicho (`figure { $fact } "9 N·m"`), o nada que añadir?
question-sound = { $thing }: ¿aflojado, rosca y asiento mirados, y sanos?
question-new-part = { $thing }: ¿pieza nueva puesta?
question-new = { $thing }: ¿{ $part } nuevo puesto?
question-new-parts = { $thing }: ¿piezas nuevas puestas ({ $parts })?
question-forward = { $thing }: hasta la ranura siguiente, nunca atrás. { $own }
question-of = { $thing }: { $own }
question-pin = ¿Pasador puesto y patas dobladas?
question-stake = ¿Collar remachado en la ranura?
question-lock = ¿Seguro puesto y lengüetas dobladas?
question-wire = ¿Alambrado, tirando en sentido de apriete?
question-secured = ¿Asegurado?
question-dry = ¿Roscas y asiento limpios y secos?
question-as-supplied = ¿Piezas tal como vinieron, nada en las roscas?
question-light-oil = ¿Una película de aceite en las roscas?
question-paste = ¿Pasta en las roscas, como dicen los datos?
question-locker = ¿Roscas limpias y con fijador?
question-threads = ¿Roscas como se pide?
question-check = Adaptador { $adapter }: ¿cero correcto e igual a un par conocido?

# Parts of sentences

part-against = { $reading }, pero se pide { $limits }
part-at-least = al menos { $limit }
part-some = Un elemento de { $group }
part-some-first = Un elemento de { $group }
part-finished = Un elemento terminado
part-is-asked = se pide { $target }
part-by-hand = hágalo sin el adaptador y dígalo
part-or = { $one } o { $other }
part-and = { $one } y { $other }
part-more = más
part-less = menos
part-too-low = demasiado bajo
part-too-high = demasiado alto
part-blocked-long = el adaptador y el vaso son demasiado largos
part-blocked-key = la llave que lo sujeta está donde iría el vaso
part-blocked-between = lo que hay en medio no deja fiarse de ninguna lectura
part-remedy-forward = aflójelo, cambie tuerca o arandela y vuelva a apretar desde el par mínimo
part-remedy-bearing = aflójelo, gire el buje a mano buscando una marca y ajuste el rodamiento desde el principio
part-remedy-new = sáquelo y ponga uno nuevo
part-remedy-wheel = aflójelo, mire espárrago y asiento, y vuelva a apretar
part-remedy-usual = afloje, mire rosca y asiento, ponga una pieza nueva si es de un solo uso, y vuelva a apretar
part-cure-slacken = Este apriete no cuenta: afloje, deje que asiente, confirme y vuelva a apretar.
part-cure-again = Este apriete no cuenta: confirme y vuelva a apretar.
part-cure-high = Aflójelo y vuelva a apretar, o compárelo con un adaptador más exacto
part-cure-low = Apriete un poco más
part-dry = limpias y secas
part-as-supplied = como de fábrica
part-light-oil = ligeramente aceitadas
part-paste = untadas con pasta
part-locker = mojadas con fijador

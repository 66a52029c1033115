# What the program makes of sentences while it works: German. Every file has the same sentences in the same order.

# Warnings of torque, order and round

low = { $name } blieb zu niedrig: { $against }. Nochmals ziehen.
low-somewhere = Bei { $group } blieb eine zu niedrig oder wurde ausgelassen, und welche, ist nicht bekannt: der letzte zu niedrige Zug war { $against }. Noch einmal rundum gehen.
high = Halt. { $name } ist zu fest angezogen: { $against }. Ein späterer guter Zug hebt das nicht auf: { $remedy }.
order = { $group } wurde { $pulled } angezogen, das ist nicht über Kreuz (der Plan sagt { $order }). Liegt es plan auf? Wenn unklar: alle wieder handfest, und noch einmal.
order-middle = { $group } wurde { $pulled } angezogen, das ist nicht von der Mitte nach außen ({ $order }, oder vom anderen Ende her { $mirrored }). Liegt es plan auf? Wenn unklar: alle wieder handfest, und noch einmal.
order-row = { $group } wurde { $pulled } angezogen, das ist nicht, wie der Plan sagt ({ $order }, oder vom anderen Ende her { $mirrored }). Liegt es plan auf? Wenn unklar: alle wieder handfest, und noch einmal.
order-plan = { $group } wurde { $pulled } angezogen, das ist nicht, wie der Plan sagt ({ $order }). Liegt es plan auf? Wenn unklar: alle wieder handfest, und noch einmal.
pass-left-out = { $group } wird gleich auf { $target } gezogen: Durchgang { $pass } von { $passes } ({ $first }) wurde ausgelassen. Liegt es plan auf? Wenn unklar: alle wieder handfest, und noch einmal.
too-early = { $other } kommt vor { $group } und ist nicht fertig.
repeat = { $name } war schon fest und wurde nochmals gezogen. Es warten noch: { $waiting }.
repeat-by-order = { $name } war schon fest und wurde nochmals gezogen. Es warten noch: { $waiting } (nach der Reihenfolge des Plans).
repeat-one = Eine, die schon fest war, wurde nochmals gezogen. Es warten noch: { $waiting }.
repeat-one-by-order = Eine, die schon fest war, wurde nochmals gezogen. Es warten noch: { $waiting } (nach der Reihenfolge des Plans).
repeat-late = { $name } war schon fest und wurde nochmals gezogen. In der Gruppe wartet keine mehr.
repeat-late-by-order = { $name } war schon fest und wurde nochmals gezogen. In der Gruppe wartet keine mehr (nach der Reihenfolge des Plans).
repeat-one-late = Eine, die schon fest war, wurde nochmals gezogen. In der Gruppe wartet keine mehr.
repeat-one-late-by-order = Eine, die schon fest war, wurde nochmals gezogen. In der Gruppe wartet keine mehr (nach der Reihenfolge des Plans).
did-not-turn = Halt. { $name } kam auf Drehmoment, ohne sich zu drehen, und kein früherer Zug erklärt das: vom Schrauber zu fest, gefressen oder nicht aufgesessen. Lösen, nachsehen und nochmals ziehen.
did-not-turn-bearing = Halt. { $name } hat sich nicht gedreht: so fest wie zuvor. Zurückdrehen, wie der Plan sagt, und nochmals ziehen.
skipped = { $name } wurde ausgelassen. Noch einmal dorthin.
skipped-by-order = { $name } wurde ausgelassen (nach der Reihenfolge des Plans). Noch einmal dorthin.
skipped-pass = { $name } wurde in Durchgang { $pass } von { $passes } ausgelassen. Noch einmal dorthin.
skipped-pass-by-order = { $name } wurde in Durchgang { $pass } von { $passes } ausgelassen (nach der Reihenfolge des Plans). Noch einmal dorthin.
skipped-one = Bei { $group } wurde eine ausgelassen; welche, ist nicht bekannt. Noch einmal rundum gehen.
skipped-one-pass = Bei { $group } wurde in Durchgang { $pass } von { $passes } eine ausgelassen; welche, ist nicht bekannt. Noch einmal rundum gehen.
skipped-some = Bei { $group } wurde eine ausgelassen: { $suspects }. Noch einmal zu diesen.
skipped-some-pass = Bei { $group } wurde in Durchgang { $pass } von { $passes } eine ausgelassen: { $suspects }. Noch einmal zu diesen.
never-done = { $name } wurde nie auf Drehmoment gebracht: { $asked }.
none-done = Nichts von { $group } wurde auf Drehmoment gebracht: { $asked }.
loosened = { $name } wurde zurückgedreht, nachdem sie fertig war. Sie gilt als offen: nochmals ziehen.
hold-open = Halt. { $name } wurde angezogen, bevor „{ $question }“ bestätigt war. { $cure }
redo-slack = { $name } wurde angezogen, bevor { $hold } bestätigt war, und nochmals ziehen heilt das nicht: lösen, setzen lassen, nochmals ziehen. Ein Einmalteil ist verbraucht.
value-first = Halt. { $name } wurde angezogen, und der Wert muss noch nachgeschlagen werden: nichts sagt, ob es reicht. Wert angeben (value { $fact } "26 N·m"): danach wird der Zug beurteilt.
redo-threads = { $name } wurde angezogen, als die Gewinde nicht so waren, wie der Wert es verlangt, und nochmals ziehen heilt das nicht: lösen, prüfen, dass sie jetzt so sind, nochmals ziehen. Ein Einmalteil ist verbraucht.

# Warnings of adapters, names and links

range = { $peak } liegt außerhalb dessen, was Adapter { $adapter } misst ({ $span } N·m). Es zählt nicht: mit einem Adapter anziehen, dessen Bereich reicht.
unexpected = Ein Zug von { $peak } passt zu nichts, was im Plan offen ist.
unknown-name = „{ $said }“ steht nicht im Plan; die Angabe wurde notiert und ändert nichts.
no-figure-name = Erwartet war der Name einer Bedingung, eines Befunds, der Klemmung einer Mutter oder der Gewinde einer Verbindung, gesagt wurde „{ $said }“; die Angabe wurde notiert und ändert nichts.
no-figure-torque = Für { $hold } war ein Drehmoment wie `9 N·m` erwartet, gesagt wurde „{ $said }“; die Angabe wurde notiert und ändert nichts.
no-figure-threads = Für { $hold } war eines von dry, as-supplied, light-oil, paste und thread-locker erwartet, gesagt wurde „{ $said }“; die Angabe wurde notiert und ändert nichts.
no-figure-length = Für { $hold } war eine Länge wie `512 mm` erwartet, gesagt wurde „{ $said }“; die Angabe wurde notiert und ändert nichts.
not-also = „{ $said }“ ist kein neuer Name wie „hose-clip“; die Angabe wurde notiert und ändert nichts.
link-lost = Die Verbindung zu Adapter { $adapter } ist weg. Züge, die jetzt gemacht werden, werden nur gehört, wenn er sie behält.
gap-one = Messung { $number } von Adapter { $adapter } fehlt: prüfen, wofür sie war.
gap-many = Die Messungen { $number } bis { $last } von Adapter { $adapter } fehlen: prüfen, wofür sie waren.
zero-moved = Adapter { $adapter } zeigt ohne Last { $nm } N·m { $way } als beim ersten Zug dieses Auftrags, und um so viel können seine Spitzen falsch sein. Ohne Last nullen und mit einem bekannten Drehmoment vergleichen.
zero-jumped = Adapter { $adapter }: sein Nullpunkt ist gesprungen. Er zeigte vor jedem seiner letzten { $ways } Züge { $nm } N·m ohne Last, und um so viel sind seine Spitzen falsch. Nicht trauen, bevor sein Nullpunkt stimmt und er mit einem bekannten Drehmoment übereinstimmt; dann checked:{ $again } bestätigen.
zero-jumped-touched = Adapter { $adapter }: sein Nullpunkt ist gesprungen. Er zeigte vor jedem seiner letzten { $ways } Züge { $nm } N·m ohne Last, und um so viel sind seine Spitzen falsch. Nicht trauen, bevor sein Nullpunkt stimmt und er mit einem bekannten Drehmoment übereinstimmt; dann checked:{ $again } bestätigen. Nur dadurch im Fenster: { $touched }. Nochmals ziehen.
only-by-zero = { $name }: { $peak } liegt nur deshalb im Fenster, weil der Nullpunkt von Adapter { $adapter } um { $nm } N·m verschoben ist. Das zählt nicht: den Adapter ohne Last nullen, dann nochmals ziehen.
units = Jeder Zug von Adapter { $adapter } kam bisher auf das { $ratio }-Fache des Geforderten, als wäre { $meant } für { $taken } gehalten worden. Einheit am Adapter und im Plan ansehen. Nichts wurde berichtigt.
overloaded = Adapter { $adapter } wurde überlastet: { $nm } N·m, und er misst bis { $most }. Nicht trauen, bevor sein Nullpunkt stimmt und er mit einem bekannten Drehmoment übereinstimmt; dann checked:{ $again } bestätigen.
hit = Adapter { $adapter } wurde von einem Schlagschrauber getroffen. Nicht trauen, bevor sein Nullpunkt stimmt und er mit einem bekannten Drehmoment übereinstimmt; dann checked:{ $again } bestätigen.
overdue = Adapter { $adapter } war am { $day } zur Kalibrierung fällig: was er sagt, wird behalten, ohne gültigen Schein. Für Nachzuweisendes einen anderen nehmen und diesen kalibrieren lassen.
uncovered = { $name }: { $nm } N·m liegt außerhalb dessen, was der Kalibrierschein von Adapter { $adapter } abdeckt, { $span } N·m. Der Wert wird behalten; über ihn wird nichts Kalibriertes gesagt.
uncovered-left = { $name } wurde gegen den Uhrzeigersinn gezogen, und Adapter { $adapter } ist so herum nicht kalibriert. Der Wert wird behalten; über ihn wird nichts Kalibriertes gesagt.
uncovered-right = { $name } wurde im Uhrzeigersinn gezogen, und Adapter { $adapter } ist so herum nicht kalibriert. Der Wert wird behalten; über ihn wird nichts Kalibriertes gesagt.

# Warnings of joints by their own rules

backed-off = { $name } wurde zurückgedreht, nachdem das Drehmoment erreicht war. Es geht nur vorwärts: nochmals ziehen, weiter bis zum nächsten Schlitz, oder mit neuer Mutter beginnen.
past-slot = { $name } ging nach dem Mindestdrehmoment um { $went }° weiter; der nächste Schlitz ist höchstens { $pitch }° entfernt, und ein Höchstwert ist nicht veröffentlicht. Lösen, Gewinde und Scheibe ansehen und bis zum ersten Schlitz neu anziehen.
over-angle = Halt. { $name } wurde zu weit gedreht: { $turned }°, gefordert sind { $asked }°. Zurückdrehen heilt das nicht: herausnehmen und neu einsetzen.
low-angle = { $name } blieb unter dem Winkel: { $turned }°, gefordert sind { $asked }°. Um { $more }° weiterdrehen.
weak = Halt. { $name } hat den Winkel ohne das zugehörige Drehmoment: { $against }. Vielleicht fließt die Schraube, oder das Gewinde gibt nach: herausnehmen, Gewinde ansehen, neu einsetzen.
sides-differ = { $name } drehte sich für das Drehmoment um { $one }° und { $other } um { $two }°. Beide ansehen: gleiche Teile, gleich geschmiert, aufgesessen, und keine vom Schrauber weiter vorgezogen als die anderen?
threads = Halt. { $group }: der Wert gilt für Gewinde, die { $asked } sind, und diese sind { $found }. Nichts wurde umgerechnet: Gewinde so herrichten oder den Wert für ihren Zustand nachschlagen. Was so angezogen wurde, wird erst gelöst. Es ist nicht bestätigt.
threads-harder = Halt. { $group }: der Wert gilt für Gewinde, die { $asked } sind, und diese sind { $found }. Dasselbe Drehmoment klemmt dann nach üblichen, groben Tabellen etwa { $more } % stärker. Nichts wurde umgerechnet: Gewinde so herrichten oder den Wert für ihren Zustand nachschlagen. Was so angezogen wurde, wird erst gelöst. Es ist nicht bestätigt.
threads-less = Halt. { $group }: der Wert gilt für Gewinde, die { $asked } sind, und diese sind { $found }. Dasselbe Drehmoment klemmt dann nach üblichen, groben Tabellen etwa { $more } % schwächer. Nichts wurde umgerechnet: Gewinde so herrichten oder den Wert für ihren Zustand nachschlagen. Was so angezogen wurde, wird erst gelöst. Es ist nicht bestätigt.
threads-by-word = Die Gewinde von { $group } wurden als { $found } angegeben und sollen { $asked } sein: ein bloßes Ja nimmt das nicht zurück. So herrichten, dann angeben, was jetzt darauf ist (figure threads:{ $fact } "{ $said }"), oder mit dem Grund bestätigen.
pulled-with = Halt. { $name } wurde angezogen, während die Gewinde { $found } sind, und der Wert gilt für Gewinde, die { $asked } sind. Dieser Zug zählt nicht: lösen, so herrichten, nochmals ziehen.
driven = Halt. { $name } wurde mit einem Schlagschrauber angezogen, und erlaubt ist nur von Hand. Es zählt nicht: { $remedy }.
slipped = { $name }: Der Verlauf zeigt, dass das Werkzeug abgerutscht ist. Sitzt die Nuss ganz, und sind die Ecken heil? Was erreicht wurde, gilt, wie es gemessen ist.
gives = Halt. { $name }: Der Verlauf zeigt, dass das Drehmoment sank, während weitergedreht wurde. Vielleicht gibt das Gewinde nach: lösen, herausnehmen, beide Gewinde ansehen, und neue Teile einbauen, wenn sie nicht heil sind.
no-access = { $name } wurde mit dem Adapter gezogen, und laut Plan gilt: { $blocked }. Der Messwert beweist hier nichts: bestätigen, dass es gemacht ist (stated), oder in den Plan schreiben, womit man hinkommt.
not-slackened = { $name } wurde gezogen, wie es war, und soll beim Nachziehen erst gelöst werden. Das zählt nicht: lösen, dann noch einmal ziehen.
unconfirmed = Nicht bestätigt: „{ $question }“ Vorher wird der Auftrag nicht geschlossen.
not-at-height = { $hold }: { $mm } mm, vorgefunden waren { $found } mm, und höchstens { $within } mm mehr oder weniger dürfen es sein. Es steht um { $off } mm { $way }: richtig einstellen und noch einmal messen. Es ist nicht bestätigt.
unproven-unsure = { $name }: { $peak } liegt im Fenster, aber der Plan verlangt einen Nachweis, und Adapter { $adapter } ist dafür nicht genau genug. Es zählt nicht: einen nehmen, der es ist.
unproven = { $name }: { $peak } liegt um weniger im Fenster, als Adapter { $adapter } genau ist, und der Plan verlangt einen Nachweis (abgesicherte Annahme): { $limits } zählt. { $cure }.
cured = { $name } wurde { $minutes } min nach dem ersten Zug angezogen, und die Schraubensicherung darf nur { $allowed } min bearbeitet werden: sie ist jetzt gebrochen. Herausnehmen, reinigen, neu auftragen, nochmals ziehen.

# What is asked before a job is closed

question-closed = { $thing }: wieder geschlossen?
question-out = { $thing }: wieder heraus?
question-noted = { $thing } Notiert?
question-told = { $thing } Gesagt (`figure { $fact } "512 mm"`)?
question-threads-are = { $thing }: die Gewinde sind { $found }. Sie { $asked } machen, dann angeben (`figure threads:{ $fact } "{ $said }"`), oder mit dem Grund bestätigen.
question-snug = Erst handfest. { $question }
question-turned = { $thing }: nach dem Drehmoment um { $angles } weitergedreht?
question-grip = { $thing }: Klemmdrehmoment gesagt (`figure { $fact } "9 N·m"`), oder keines hinzuzurechnen?
question-sound = { $thing }: gelöst, Gewinde und Auflage angesehen, und heil?
question-new-part = { $thing }: neues Teil eingebaut?
question-new = { $thing }: { $part } neu eingebaut?
question-new-parts = { $thing }: neue Teile eingebaut ({ $parts })?
question-forward = { $thing }: weiter zum nächsten Schlitz, nie zurück. { $own }
question-of = { $thing }: { $own }
question-pin = Splint drin, Schenkel umgebogen?
question-stake = Bund in die Nut verstemmt?
question-lock = Sicherung drin, Laschen umgebogen?
question-wire = Mit Draht gesichert, in Anziehrichtung?
question-secured = Gesichert?
question-dry = Gewinde und Auflage sauber und trocken?
question-as-supplied = Teile wie geliefert, nichts auf dem Gewinde?
question-light-oil = Ein Ölfilm auf dem Gewinde?
question-paste = Paste auf dem Gewinde, wie die Angaben sagen?
question-locker = Gewinde sauber, Schraubensicherung drauf?
question-threads = Gewinde wie gefordert?
question-check = Adapter { $adapter }: Nullpunkt richtig, und gleich einem bekannten Drehmoment?

# Parts of sentences

part-against = { $reading }, gefordert ist { $limits }
part-at-least = mindestens { $limit }
part-some = Eine Verschraubung von { $group }
part-some-first = Eine Verschraubung von { $group }
part-finished = Eine fertige Verschraubung
part-is-asked = gefordert ist { $target }
part-by-hand = ohne den Adapter tun und es sagen
part-or = { $one } oder { $other }
part-and = { $one } und { $other }
part-more = mehr
part-less = weniger
part-too-low = zu tief
part-too-high = zu hoch
part-blocked-long = Adapter und Nuss sind zu lang dafür
part-blocked-key = der Schlüssel, der gegenhält, steht, wo die Nuss hinmüsste
part-blocked-between = was dazwischen sitzt, lässt keinen verlässlichen Messwert zu
part-remedy-forward = lösen, Mutter oder Scheibe tauschen und vom Mindestdrehmoment an neu anziehen
part-remedy-bearing = lösen, die Nabe von Hand drehen und nach einer Marke fühlen, und das Lager von vorn einstellen
part-remedy-new = herausnehmen und neu einsetzen
part-remedy-wheel = lösen, Bolzen und Sitz ansehen, dann nochmals ziehen
part-remedy-usual = lösen, Gewinde und Sitz ansehen, bei Einmalteilen ein neues einsetzen, dann nochmals ziehen
part-cure-slacken = Dieser Zug zählt nicht: lösen, setzen lassen, bestätigen, nochmals ziehen.
part-cure-again = Dieser Zug zählt nicht: bestätigen, dann nochmals ziehen.
part-cure-high = Lösen und nochmals ziehen, oder mit einem genaueren Adapter vergleichen
part-cure-low = Ein wenig weiterziehen
part-dry = sauber und trocken
part-as-supplied = wie geliefert
part-light-oil = leicht geölt
part-paste = mit Paste bestrichen
part-locker = mit Schraubensicherung benetzt

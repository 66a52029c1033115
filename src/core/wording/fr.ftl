# What the program makes of sentences while it works: French. Every file has the same sentences in the same order.

# Warnings of torque, order and round

low = { $name } est resté trop bas : { $against }. Resserrez-le.
low-somewhere = Dans { $group }, un est resté trop bas ou a été oublié, et on ne sait pas lequel : le dernier serrage trop bas était de { $against }. Refaites un tour.
high = Stop. { $name } est trop serré : { $against }. Un bon serrage ensuite n’y change rien : { $remedy }.
order = { $group } a été serré { $pulled }, ce qui n’est pas en croix (le plan dit { $order }). Bien à plat sur son appui ? En cas de doute : tous ramenés à l’approche, et on recommence.
order-middle = { $group } a été serré { $pulled }, ce qui n’est pas du milieu vers l’extérieur ({ $order }, ou depuis l’autre bout { $mirrored }). Bien à plat sur son appui ? En cas de doute : tous ramenés à l’approche, et on recommence.
order-row = { $group } a été serré { $pulled }, ce qui n’est pas ce que dit le plan ({ $order }, ou depuis l’autre bout { $mirrored }). Bien à plat sur son appui ? En cas de doute : tous ramenés à l’approche, et on recommence.
order-plan = { $group } a été serré { $pulled }, ce qui n’est pas ce que dit le plan ({ $order }). Bien à plat sur son appui ? En cas de doute : tous ramenés à l’approche, et on recommence.
pass-left-out = { $group } est serré directement à { $target } : la passe { $pass } sur { $passes } ({ $first }) a été omise. Bien à plat sur son appui ? En cas de doute : tous ramenés à l’approche, et on recommence.
too-early = { $other } vient avant { $group } et n’est pas terminé.
repeat = { $name } était déjà serré et a été resserré. Restent à faire : { $waiting }.
repeat-by-order = { $name } était déjà serré et a été resserré. Restent à faire : { $waiting } (selon l’ordre du plan).
repeat-one = Un qui était déjà serré a été resserré. Restent à faire : { $waiting }.
repeat-one-by-order = Un qui était déjà serré a été resserré. Restent à faire : { $waiting } (selon l’ordre du plan).
repeat-late = { $name } était déjà serré et a été resserré. Dans le groupe, il n’en reste plus à faire.
repeat-late-by-order = { $name } était déjà serré et a été resserré. Dans le groupe, il n’en reste plus à faire (selon l’ordre du plan).
repeat-one-late = Un qui était déjà serré a été resserré. Dans le groupe, il n’en reste plus à faire.
repeat-one-late-by-order = Un qui était déjà serré a été resserré. Dans le groupe, il n’en reste plus à faire (selon l’ordre du plan).
did-not-turn = Stop. { $name } a atteint le couple sans tourner, et aucun serrage antérieur ne l’explique : trop serré à la clé à chocs, grippé ou mal assis. Desserrez, regardez et resserrez.
did-not-turn-bearing = Stop. { $name } n’a pas tourné : aussi serré qu’avant. Revenez en arrière comme le dit le plan, puis resserrez.
skipped = { $name } a été oublié. Revenez-y.
skipped-by-order = { $name } a été oublié (selon l’ordre du plan). Revenez-y.
skipped-pass = { $name } a été oublié à la passe { $pass } sur { $passes }. Revenez-y.
skipped-pass-by-order = { $name } a été oublié à la passe { $pass } sur { $passes } (selon l’ordre du plan). Revenez-y.
skipped-one = Dans { $group }, un a été oublié ; on ne sait pas lequel. Refaites un tour.
skipped-one-pass = Dans { $group }, un a été oublié à la passe { $pass } sur { $passes } ; on ne sait pas lequel. Refaites un tour.
skipped-some = Dans { $group }, un a été oublié : { $suspects }. Revenez à ceux-là.
skipped-some-pass = Dans { $group }, un a été oublié à la passe { $pass } sur { $passes } : { $suspects }. Revenez à ceux-là.
never-done = { $name } n’a jamais été amené au couple : { $asked }.
none-done = Rien de { $group } n’a été amené au couple : { $asked }.
loosened = { $name } a été tourné en arrière après avoir été terminé. Il compte comme ouvert : resserrez-le.
hold-open = Stop. { $name } a été serré avant que « { $question } » soit confirmé. { $cure }
redo-slack = { $name } a été serré avant que { $hold } soit confirmé, et resserrer n’y remédie pas : desserrez, laissez se poser, resserrez. Une pièce à usage unique est perdue.
value-first = Stop. { $name } a été serré et sa valeur est encore à chercher : rien ne dit si cela suffit. Donnez la valeur (value { $fact } "26 N·m") : le serrage sera alors jugé d’après elle.
redo-threads = { $name } a été serré alors que ses filets n’étaient pas comme sa valeur le demande, et resserrer n’y remédie pas : desserrez, voyez qu’ils le sont maintenant, resserrez. Une pièce à usage unique est perdue.

# Warnings of adapters, names and links

range = { $peak } est en dehors de ce que mesure l’adaptateur { $adapter } ({ $span } N·m). Cela ne compte pas : serrez avec un adaptateur dont l’étendue convient.
unexpected = Un serrage de { $peak } ne correspond à rien d’ouvert dans le plan.
unknown-name = « { $said } » n’est pas dans le plan ; l’indication est notée et ne change rien.
no-figure-name = Il fallait le nom d’une condition, d’un constat, du freinage d’un écrou ou des filets d’un assemblage, mais on a dit « { $said } » ; l’indication est notée et ne change rien.
no-figure-torque = Pour { $hold }, il fallait un couple comme `9 N·m`, mais on a dit « { $said } » ; l’indication est notée et ne change rien.
no-figure-threads = Pour { $hold }, il fallait l’un de dry, as-supplied, light-oil, paste et thread-locker, mais on a dit « { $said } » ; l’indication est notée et ne change rien.
no-figure-length = Pour { $hold }, il fallait une longueur comme `512 mm`, mais on a dit « { $said } » ; l’indication est notée et ne change rien.
not-also = « { $said } » n’est pas un nouveau nom comme « hose-clip » ; l’indication est notée et ne change rien.
link-lost = La liaison avec l’adaptateur { $adapter } est perdue. Les serrages faits maintenant ne seront entendus que s’il les garde.
gap-one = La mesure { $number } de l’adaptateur { $adapter } manque : vérifiez à quoi elle correspondait.
gap-many = Les mesures { $number } à { $last } de l’adaptateur { $adapter } manquent : vérifiez à quoi elles correspondaient.
zero-moved = L’adaptateur { $adapter } affiche à vide { $nm } N·m { $way } qu’au premier serrage de ce travail, et ses pics peuvent être faux d’autant. Remettez-le à zéro à vide et comparez-le à un couple connu.
zero-jumped = L’adaptateur { $adapter } : son zéro a sauté. Il affichait { $nm } N·m à vide avant chacun de ses { $ways } derniers serrages, et ses pics sont faux d’autant. Ne vous y fiez pas avant que son zéro soit juste et qu’il concorde avec un couple connu ; confirmez alors checked:{ $again }.
zero-jumped-touched = L’adaptateur { $adapter } : son zéro a sauté. Il affichait { $nm } N·m à vide avant chacun de ses { $ways } derniers serrages, et ses pics sont faux d’autant. Ne vous y fiez pas avant que son zéro soit juste et qu’il concorde avec un couple connu ; confirmez alors checked:{ $again }. Dans la plage seulement pour cela : { $touched }. Resserrez.
only-by-zero = { $name } : { $peak } est dans sa plage seulement parce que le zéro de l’adaptateur { $adapter } est décalé de { $nm } N·m. Cela ne compte pas : remettez l’adaptateur à zéro à vide, puis resserrez.
units = Jusqu’ici, chaque serrage de l’adaptateur { $adapter } a donné { $ratio } fois ce qui est demandé, comme si { $meant } avait été pris pour { $taken }. Regardez l’unité sur l’adaptateur et dans le plan. Rien n’a été corrigé.
overloaded = L’adaptateur { $adapter } a été surchargé : { $nm } N·m, et il mesure jusqu’à { $most }. Ne vous y fiez pas avant que son zéro soit juste et qu’il concorde avec un couple connu ; confirmez alors checked:{ $again }.
hit = L’adaptateur { $adapter } a reçu les coups d’un outil à chocs. Ne vous y fiez pas avant que son zéro soit juste et qu’il concorde avec un couple connu ; confirmez alors checked:{ $again }.
overdue = L’adaptateur { $adapter } devait être étalonné le { $day } : ce qu’il indique est gardé, sans certificat valable. Prenez-en un autre pour ce qui doit être prouvé et faites-le étalonner.
uncovered = { $name } : { $nm } N·m sort de ce que couvre le certificat de l’adaptateur { $adapter }, { $span } N·m. La valeur est gardée, et rien de certifié n’en est dit.
uncovered-left = { $name } a été serré dans le sens antihoraire, et l’adaptateur { $adapter } n’est pas étalonné dans ce sens. La valeur est gardée, et rien de certifié n’en est dit.
uncovered-right = { $name } a été serré dans le sens horaire, et l’adaptateur { $adapter } n’est pas étalonné dans ce sens. La valeur est gardée, et rien de certifié n’en est dit.

# Warnings of joints by their own rules

backed-off = { $name } a été tourné en arrière après avoir eu son couple. On ne va qu’en avant : resserrez, jusqu’au créneau suivant, ou recommencez avec un écrou neuf.
past-slot = { $name } a avancé de { $went }° après son couple minimal ; le créneau suivant est au plus à { $pitch }°, et aucun maximum n’est publié. Desserrez, regardez filet et rondelle, puis resserrez jusqu’au premier créneau.
over-angle = Stop. { $name } a été trop tourné : { $turned }°, mais { $asked }° sont demandés. Revenir en arrière n’y remédie pas : déposez-le et montez-en un neuf.
low-angle = { $name } est resté en deçà de son angle : { $turned }°, mais { $asked }° sont demandés. Tournez encore de { $more }°.
weak = Stop. { $name } a son angle sans le couple qui va avec : { $against }. Il s’allonge peut-être, ou son filet lâche : déposez-le, regardez le filet, montez-en un neuf.
sides-differ = { $name } a tourné de { $one }° pour son couple et { $other } de { $two }°. Regardez les deux : mêmes pièces, même état des filets, bien assis, et aucun approché plus loin que les autres à la clé à chocs ?
threads = Stop. { $group } : sa valeur est pour des filets { $asked }, et ceux-ci sont { $found }. Rien n’a été recalculé : mettez-les dans cet état, ou cherchez la valeur pour ce qu’ils sont. Ce qui a été serré ainsi se desserre d’abord. Ce n’est pas confirmé.
threads-harder = Stop. { $group } : sa valeur est pour des filets { $asked }, et ceux-ci sont { $found }. Le même couple serre alors quelque { $more } % plus fort, d’après des tables courantes, qui sont approximatives. Rien n’a été recalculé : mettez-les dans cet état, ou cherchez la valeur pour ce qu’ils sont. Ce qui a été serré ainsi se desserre d’abord. Ce n’est pas confirmé.
threads-less = Stop. { $group } : sa valeur est pour des filets { $asked }, et ceux-ci sont { $found }. Le même couple serre alors quelque { $more } % moins fort, d’après des tables courantes, qui sont approximatives. Rien n’a été recalculé : mettez-les dans cet état, ou cherchez la valeur pour ce qu’ils sont. Ce qui a été serré ainsi se desserre d’abord. Ce n’est pas confirmé.
threads-by-word = Les filets de { $group } ont été dits { $found }, et sont demandés { $asked } : un simple oui ne retire pas cela. Mettez-les dans cet état, puis dites ce qu’ils portent (figure threads:{ $fact } "{ $said }"), ou confirmez en donnant la raison.
pulled-with = Stop. { $name } a été serré alors que ses filets sont { $found }, et sa valeur est pour des filets { $asked }. Ce serrage ne compte pas : desserrez, mettez-les dans cet état, resserrez.
driven = Stop. { $name } a été serré à l’outil à chocs, et ne se serre qu’à la main. Cela ne compte pas : { $remedy }.
slipped = { $name } : d’après sa courbe, l’outil a glissé. La douille est-elle bien enfoncée, et les angles sont-ils intacts ? Ce qui a été atteint compte tel que mesuré.
gives = Stop. { $name } : d’après sa courbe, le couple a baissé alors que ça tournait encore. Le filetage cède peut-être : desserrez, déposez, regardez les deux filetages, montez des pièces neuves s’ils ne sont pas intacts.
no-access = { $name } a été serré avec l’adaptateur, et d’après son plan { $blocked }. La mesure ne prouve rien : dites que c’est fait (stated), ou écrivez dans le plan ce qui vous a permis d’y accéder.
not-slackened = { $name } a été serré tel quel, et son contrôle demande de le desserrer d’abord. Cela ne compte pas : desserrez, puis resserrez.
unconfirmed = Pas confirmé : « { $question } » Le travail ne se clôt pas avant.
not-at-height = { $hold } : { $mm } mm, mais trouvé à { $found } mm, et l’écart permis n’est que de { $within } mm. C’est { $way } de { $off } mm : réglez et mesurez à nouveau. Ce n’est pas confirmé.
unproven-unsure = { $name } : { $peak } est dans sa fenêtre, mais le plan demande une preuve, et l’adaptateur { $adapter } n’est pas assez sûr pour la donner. Cela ne compte pas : prenez-en un qui le soit.
unproven = { $name } : { $peak } est dans sa fenêtre de moins que ce dont l’adaptateur { $adapter } est sûr, et le plan demande une preuve (acceptation avec marge) : { $limits } compte. { $cure }.
cured = { $name } a été serré { $minutes } min après son premier serrage, et son frein-filet ne se travaille que { $allowed } min : il est maintenant rompu. Déposez, nettoyez, remettez-en, resserrez.

# What is asked before a job is closed

question-closed = { $thing } : refermé ?
question-out = { $thing } : ressorti ?
question-noted = { $thing } Noté ?
question-told = { $thing } Indiqué (`figure { $fact } "512 mm"`) ?
question-threads-are = { $thing } : ses filets sont { $found }. Mettez-les { $asked }, puis dites-le (`figure threads:{ $fact } "{ $said }"`), ou confirmez en donnant la raison.
question-snug = D’abord à l’approche à la main. { $question }
question-turned = { $thing } : tourné de { $angles } après son couple ?
question-grip = { $thing } : couple de freinage indiqué (`figure { $fact } "9 N·m"`), ou rien à ajouter ?
question-sound = { $thing } : desserré, filetage et appui regardés, et intacts ?
question-new-part = { $thing } : pièce neuve montée ?
question-new = { $thing } : { $part } neuf monté ?
question-new-parts = { $thing } : pièces neuves montées ({ $parts }) ?
question-forward = { $thing } : jusqu’au créneau suivant, jamais en arrière. { $own }
question-of = { $thing } : { $own }
question-pin = Goupille en place, branches pliées ?
question-stake = Collerette matée dans la rainure ?
question-lock = Frein en place, languettes pliées ?
question-wire = Freiné au fil, dans le sens du serrage ?
question-secured = Freiné ?
question-dry = Filets et appui propres et secs ?
question-as-supplied = Pièces telles que reçues, rien sur les filets ?
question-light-oil = Un film d’huile sur les filets ?
question-paste = De la pâte sur les filets, comme le disent les données ?
question-locker = Filets propres, frein-filet mis ?
question-threads = Filets comme demandé ?
question-check = Adaptateur { $adapter } : zéro juste, et égal à un couple connu ?

# Parts of sentences

part-against = { $reading }, demandé : { $limits }
part-at-least = au moins { $limit }
part-some = Un élément de { $group }
part-some-first = Un élément de { $group }
part-finished = Un élément terminé
part-is-asked = { $target } est demandé
part-by-hand = faites-le sans l’adaptateur et dites-le
part-or = { $one } ou { $other }
part-and = { $one } et { $other }
part-more = de plus
part-less = de moins
part-too-low = trop bas
part-too-high = trop haut
part-blocked-long = l’adaptateur et la douille sont trop longs
part-blocked-key = la clé qui le retient est là où irait la douille
part-blocked-between = ce qui est entre les deux ne permet aucune mesure fiable
part-remedy-forward = desserrez, changez écrou ou rondelle, et resserrez à partir du couple minimal
part-remedy-bearing = desserrez, tournez le moyeu à la main en cherchant une marque, et réglez le roulement depuis le début
part-remedy-new = déposez-le et montez-en un neuf
part-remedy-wheel = desserrez, regardez goujon et appui, puis resserrez
part-remedy-usual = desserrez, regardez filet et appui, montez une pièce neuve si elle est à usage unique, puis resserrez
part-cure-slacken = Ce serrage ne compte pas : desserrez, laissez se poser, confirmez, resserrez.
part-cure-again = Ce serrage ne compte pas : confirmez, puis resserrez.
part-cure-high = Desserrez et resserrez, ou comparez avec un adaptateur plus sûr
part-cure-low = Serrez encore un peu
part-dry = propres et secs
part-as-supplied = tels que fournis
part-light-oil = légèrement huilés
part-paste = enduits de pâte
part-locker = humides de frein-filet

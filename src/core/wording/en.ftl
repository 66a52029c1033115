# What the program makes of sentences while it works: English. Every file has the same sentences in the same order.

# Warnings of torque, order and round

low = { $name } was left low: { $against }. Pull it again.
low-somewhere = One of { $group } was left low or left out, and which one is not known: the last low pull was { $against }. Go round once more.
high = Stop. { $name } is over: { $against }. A later good pull does not clear it: { $remedy }.
order = { $group } was pulled { $pulled }, which is not crosswise (the plan says { $order }). Flat against its seat? If not sure: all back to snug, and again.
order-middle = { $group } was pulled { $pulled }, which is not from the middle outwards ({ $order }, or from the other end { $mirrored }). Flat against its seat? If not sure: all back to snug, and again.
order-row = { $group } was pulled { $pulled }, which is not as the plan says ({ $order }, or from the other end { $mirrored }). Flat against its seat? If not sure: all back to snug, and again.
order-plan = { $group } was pulled { $pulled }, which is not as the plan says ({ $order }). Flat against its seat? If not sure: all back to snug, and again.
pass-left-out = { $group } is pulled straight to { $target }: pass { $pass } of { $passes } ({ $first }) was left out. Flat against its seat? If not sure: all back to snug, and again.
too-early = { $other } comes before { $group }, and is not finished.
repeat = { $name } was already tight and was pulled again. Still waiting: { $waiting }.
repeat-by-order = { $name } was already tight and was pulled again. Still waiting: { $waiting } (going by the plan's order).
repeat-one = One that was already tight was pulled again. Still waiting: { $waiting }.
repeat-one-by-order = One that was already tight was pulled again. Still waiting: { $waiting } (going by the plan's order).
repeat-late = { $name } was already tight and was pulled again. None of the group is waiting any more.
repeat-late-by-order = { $name } was already tight and was pulled again. None of the group is waiting any more (going by the plan's order).
repeat-one-late = One that was already tight was pulled again. None of the group is waiting any more.
repeat-one-late-by-order = One that was already tight was pulled again. None of the group is waiting any more (going by the plan's order).
did-not-turn = Stop. { $name } reached torque without turning, and no earlier pull explains it: over-tight from a gun, galled, or not seated. Slacken it, look, and pull again.
did-not-turn-bearing = Stop. { $name } did not turn: it is still as tight as before. Back it off as the plan says, and pull again.
skipped = { $name } was left out. Go back to it.
skipped-by-order = { $name } was left out (going by the plan's order). Go back to it.
skipped-pass = { $name } was left out in pass { $pass } of { $passes }. Go back to it.
skipped-pass-by-order = { $name } was left out in pass { $pass } of { $passes } (going by the plan's order). Go back to it.
skipped-one = One of { $group } was left out; which one is not known. Go round once more.
skipped-one-pass = One of { $group } was left out in pass { $pass } of { $passes }; which one is not known. Go round once more.
skipped-some = One of { $group } was left out: { $suspects }. Go back to those.
skipped-some-pass = One of { $group } was left out in pass { $pass } of { $passes }: { $suspects }. Go back to those.
never-done = { $name } was never brought to torque: { $asked }.
none-done = None of { $group } was brought to torque: { $asked }.
loosened = { $name } was turned back after it was finished. It counts as open: pull it again.
hold-open = Stop. { $name } was pulled before "{ $question }" was confirmed. { $cure }
redo-slack = { $name } was pulled before { $hold } was confirmed, and pulling again does not cure it: slacken it, let it settle, pull again. A single-use part is spent.
value-first = Stop. { $name } was pulled and its value is still to be looked up: nothing tells whether it is enough. Give the value (value { $fact } "26 N·m"): the pull is judged by it then.
redo-threads = { $name } was pulled while its threads were not as its value asks, and pulling again does not cure it: slacken it, see that they are so now, pull again. A single-use part is spent.

# Warnings of adapters, names and links

range = { $peak } is outside what adapter { $adapter } measures ({ $span } N·m). It does not count: pull with an adapter whose range covers it.
unexpected = A pull of { $peak } fits nothing that is open in the plan.
unknown-name = "{ $said }" is not in the plan; the mark was noted and changes nothing.
no-figure-name = expected the name of a hold, of something noted as found, of a nut's grip, or of a joint's threads, but found "{ $said }"; the mark was noted and changes nothing.
no-figure-torque = expected a torque like `9 N·m` for { $hold }, but found "{ $said }"; the mark was noted and changes nothing.
no-figure-threads = expected one of dry, as-supplied, light-oil, paste and thread-locker for { $hold }, but found "{ $said }"; the mark was noted and changes nothing.
no-figure-length = expected a length like `512 mm` for { $hold }, but found "{ $said }"; the mark was noted and changes nothing.
not-also = "{ $said }" is no new name like "hose-clip"; the mark was noted and changes nothing.
link-lost = The link to adapter { $adapter } is lost. Pulls made now are only heard if it keeps them.
gap-one = Reading { $number } of adapter { $adapter } is missing: check what it was for.
gap-many = Readings { $number } to { $last } of adapter { $adapter } are missing: check what they were for.
zero-moved = Adapter { $adapter } shows { $nm } N·m { $way } with nothing on it than at its first pull of this job, and peaks that it tells may be off by as much. Zero it with nothing on it, and compare it with a known torque.
zero-jumped = Adapter { $adapter }: its zero jumped. It showed { $nm } N·m with nothing on it before each of its last { $ways } pulls, and peaks that it tells are off by as much. Do not trust it before its zero is right and it agrees with a known torque; then say checked:{ $again }.
zero-jumped-touched = Adapter { $adapter }: its zero jumped. It showed { $nm } N·m with nothing on it before each of its last { $ways } pulls, and peaks that it tells are off by as much. Do not trust it before its zero is right and it agrees with a known torque; then say checked:{ $again }. Inside only by that: { $touched }. Pull again.
only-by-zero = { $name }: { $peak } is inside its window only because the zero of adapter { $adapter } is off by { $nm } N·m. It does not count: zero the adapter with nothing on it, then pull again.
units = Every pull of adapter { $adapter } so far came to { $ratio } of what is asked, as if { $meant } had been taken for { $taken }. Look at the unit on the adapter and in the plan. Nothing was put right.
overloaded = Adapter { $adapter } was overloaded: { $nm } N·m, and it measures up to { $most }. Do not trust it before its zero is right and it agrees with a known torque; then say checked:{ $again }.
hit = Adapter { $adapter } was hit by an impact tool. Do not trust it before its zero is right and it agrees with a known torque; then say checked:{ $again }.
overdue = Adapter { $adapter } was due to be calibrated on { $day }: what it tells is kept, under no valid certificate. Take another for what has to be proved, and have it calibrated.
uncovered = { $name }: { $nm } N·m is outside what the certificate of adapter { $adapter } covers, { $span } N·m. It is kept, and nothing certified is said of it.
uncovered-left = { $name } was pulled counter-clockwise, and adapter { $adapter } was not calibrated that way. It is kept, and nothing certified is said of it.
uncovered-right = { $name } was pulled clockwise, and adapter { $adapter } was not calibrated that way. It is kept, and nothing certified is said of it.

# Warnings of joints by their own rules

backed-off = { $name } was turned back after it had its torque. It goes forward only: pull it again, on to the next slot, or start with a new nut.
past-slot = { $name } went on by { $went }° after its least torque; the next slot is at most { $pitch }° away, and no most is published. Slacken it, look at thread and washer, and pull again to the first slot.
over-angle = Stop. { $name } was turned too far: { $turned }°, but { $asked }° is asked. Turning back does not cure it: take it out and fit a new one.
low-angle = { $name } was left short of its angle: { $turned }°, but { $asked }° is asked. Turn it on by { $more }°.
weak = Stop. { $name } has its angle without the torque that comes with it: { $against }. It may be yielding, or its thread may be going: take it out, look at the thread, fit a new one.
sides-differ = { $name } turned { $one }° for its torque and { $other } turned { $two }°. Look at both: the same parts, the same on their threads, seated, and none run down by a gun further than the others?
threads = Stop. { $group }: its value is for threads that are { $asked }, and these are { $found }. Nothing was worked out anew: make them so, or look up the value for what they are. What was pulled so is slackened first. It is not confirmed.
threads-harder = Stop. { $group }: its value is for threads that are { $asked }, and these are { $found }. The same torque then clamps some { $more } % harder, going by usual tables, which are rough. Nothing was worked out anew: make them so, or look up the value for what they are. What was pulled so is slackened first. It is not confirmed.
threads-less = Stop. { $group }: its value is for threads that are { $asked }, and these are { $found }. The same torque then clamps some { $more } % less, going by usual tables, which are rough. Nothing was worked out anew: make them so, or look up the value for what they are. What was pulled so is slackened first. It is not confirmed.
threads-by-word = The threads of { $group } were told to be { $found }, and are asked to be { $asked }: a bare yes does not take that back. Make them so, then say what is on them now (figure threads:{ $fact } "{ $said }"), or confirm it with the reason.
pulled-with = Stop. { $name } was pulled while its threads are { $found }, and its value is for threads that are { $asked }. This pull does not count: slacken it, make them so, pull again.
driven = Stop. { $name } was driven by an impact tool, and is by hand only. It does not count: { $remedy }.
slipped = { $name }: by its trace the tool slipped. Is the socket all the way on, and are the corners whole? What it reached counts as it was measured.
gives = Stop. { $name }: by its trace torque sank while it turned on. Its thread may be giving way: slacken it, take it out, look at both threads, fit new parts if they are not whole.
no-access = { $name } was pulled with the adapter, and by its plan { $blocked }. The reading proves nothing of it: say that it was done (stated), or put into the plan what you reached it with.
not-slackened = { $name } was pulled as it stood, and its recheck asks that it is slackened first. It does not count: slacken it, then pull it again.
unconfirmed = Not confirmed: "{ $question }" The job is not closed before it is.
not-at-height = { $hold }: { $mm } mm, but it was found at { $found } mm, and { $within } mm more or less is all that may be. It stands { $way } by { $off } mm: set it right and measure again. It is not confirmed.
unproven-unsure = { $name }: { $peak } is inside its window, but the plan asks for proof, and adapter { $adapter } is not sure enough to give it. It does not count: use one that is.
unproven = { $name }: { $peak } is inside its window by less than adapter { $adapter } is sure of, and the plan asks for proof (guarded acceptance): { $limits } counts. { $cure }.
cured = { $name } was pulled { $minutes } min after its first pull, and its thread locker may be worked for { $allowed } min: it is broken now. Take it out, clean it, put on new, pull again.

# What is asked before a job is closed

question-closed = { $thing }: closed again?
question-out = { $thing }: out again?
question-noted = { $thing } Noted?
question-told = { $thing } Told (`figure { $fact } "512 mm"`)?
question-threads-are = { $thing }: its threads are { $found }. Make them { $asked }, then tell it (`figure threads:{ $fact } "{ $said }"`), or confirm it with the reason.
question-snug = Snug by hand first. { $question }
question-turned = { $thing }: turned by { $angles } after its torque?
question-grip = { $thing }: prevailing torque told (`figure { $fact } "9 N·m"`), or none to add?
question-sound = { $thing }: slackened, thread and seat looked at, and sound?
question-new-part = { $thing }: new part fitted?
question-new = { $thing }: new { $part } fitted?
question-new-parts = { $thing }: new parts fitted ({ $parts })?
question-forward = { $thing }: on to the next slot, never back. { $own }
question-of = { $thing }: { $own }
question-pin = Pin in, legs bent?
question-stake = Collar staked into the groove?
question-lock = Lock in place, tabs bent?
question-wire = Wired, pulling tight?
question-secured = Secured?
question-dry = Threads and seat clean and dry?
question-as-supplied = Parts as they came, nothing put on the threads?
question-light-oil = A film of oil on the threads?
question-paste = Paste on the threads, as the data say?
question-locker = Threads clean, thread locker on?
question-threads = Threads as asked?
question-check = Adapter { $adapter }: zero right, and the same as a known torque?

# Parts of sentences

part-against = { $reading }, but { $limits } is asked
part-at-least = at least { $limit }
part-some = a fastener of { $group }
part-some-first = A fastener of { $group }
part-finished = A finished fastener
part-is-asked = { $target } is asked
part-by-hand = do it without the adapter and say so
part-or = { $one } or { $other }
part-and = { $one } and { $other }
part-more = more
part-less = less
part-too-low = too low
part-too-high = too high
part-blocked-long = adapter and socket are too long for it
part-blocked-key = the key that holds it stands where the socket would
part-blocked-between = what stands between lets no reading be relied on
part-remedy-forward = slacken it, change nut or washer, and pull again from the least torque on
part-remedy-bearing = slacken it, turn the hub by hand and feel for a mark, and set the bearing from the start
part-remedy-new = take it out and fit a new one
part-remedy-wheel = slacken it, look at stud and seat, then pull again
part-remedy-usual = slacken, look at thread and seat, fit a new part if it is single-use, then pull again
part-cure-slacken = This pull does not count: slacken, let it settle, confirm, pull again.
part-cure-again = This pull does not count: confirm, then pull again.
part-cure-high = Slacken it and pull again, or compare it with an adapter that is surer
part-cure-low = Pull it on a little
part-dry = clean and dry
part-as-supplied = as supplied
part-light-oil = lightly oiled
part-paste = coated with paste
part-locker = wet with thread locker

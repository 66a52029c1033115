# The words of the report: English. Every file has the same sentences in the same order.

# How a fastener ended

shown = shown
counted = counted
stated = stated
open = open
count-only = count only: which one is not known
ending-shown = shown tight to plan
ending-counted = counted (count only: which one is not known)
ending-stated = stated by the operator, not measured
ending-open = open
meaning-shown = brought to its window, and likely enough to be this very one
meaning-counted = its group has as many good pulls as fasteners
meaning-stated = the operator said or typed so; nothing was measured
meaning-open = none of these

# Where a fact comes from

measured = measured
inferred = inferred
kinds = { $measured } comes from an adapter. { $inferred } is what the program concluded. { $stated } is what a person said, and nothing more.

# What is concluded of a pull

torque-in = in the window
torque-low = below the window
torque-high = above the window
torque-none = no window
act-tighten = tightening
act-recheck = already tight, pulled again
act-loosen = loosening
act-trial = on nothing in the plan
basis-plan-order = the plan's order
basis-mark = the operator's word
basis-motion = how far the tool moved
basis-rotation = how far the drive turned
basis-trace = the shape of the pull
basis-torque = how the torque fits
basis-time = the time between pulls
basis-nothing = nothing
share-over = over { $share }
share-under = under { $share }
counter-clockwise = { $peak } counter-clockwise
at-least = at least { $limit }

# Kinds of warning

warning-low-torque = left below its window
warning-high-torque = over its window
warning-order = out of order
warning-repeat = pulled again while another waits
warning-did-not-turn = did not turn
warning-skipped = skipped
warning-loosened = loosened
warning-hold-open = pulled before its hold was confirmed
warning-redo-slack = must be slackened and redone
warning-backed-off = turned back after reaching torque
warning-unit-mix-up = units may be mixed up
warning-sides-differ = left and right turned unlike far
warning-adapter-range = outside the adapter's range
warning-calibration-due = calibration due
warning-not-certified = outside the certificate
warning-unexpected = fits nothing open in the plan
warning-slipped = slipped
warning-thread-damage = thread may be damaged
warning-yielding = fastener may be yielding
warning-link-lost = link lost
warning-gap = readings missing
warning-unknown-name = a name that the plan has not
warning-past-slot = further than to the next slot
warning-low-angle = left short of its angle
warning-over-angle = turned further than its angle
warning-unconfirmed = not confirmed before the end
warning-adapter-suspect = adapter in doubt
warning-guard-band = too near a limit to be proven
warning-cured = pulled after its thread locker had set
warning-driven = driven by an impact tool, and by hand only
warning-no-access = pulled with an adapter that does not get there

# What was said, and by what means

origin-command-line = on the command line
origin-page = on the page
origin-button = with the adapter's button
origin-recording = in a recording
origin-typed = typed
origin-pedal = with a foot pedal
origin-by = { $origin }, { $name }
photos = Photos
photo-by = { $about }, from { $name }
said-at = I am at
said-confirm = condition met
said-stated = done without the adapter
said-opened = opened or slackened
said-low = stayed below its torque
said-also-opened = opened, too
said-spoiled = needs a new part
said-figure = measured by hand
said-skip = left out on purpose
said-retract = took back what was said or assigned last
said-value = value that the plan left to be looked up
said-note = note
not-given = not given
removed = removed
left-out = left out
field-vehicle = vehicle
field-vin = vin
field-plate = plate
field-operator = operator
field-note = note

# What the plan asks

cure-slacken = slacken, let it settle, pull again
cure-pull-again = pull again once it is met
pattern-single = one fastener
pattern-ring = a ring, numbered clockwise
pattern-line = a row
row-order = order as written, or the same from the other end
expect-window = a torque
expect-by-hand = by hand, no reading expected
expect-no-figure = no figure published, the operator's word counts
expect-to-be-looked-up = value never looked up
turned-to-reach = parts turned so that each comes to the hand
no-recheck = not to be pulled again once finished
left-hand = left-hand thread
each-shown = each one to be shown, not only counted
position-unknown = Position taken from plan order; this adapter cannot tell.
position-partly-unknown = Where nothing else told, position taken from plan order; this adapter cannot tell.
position-assumed = Where nothing else told, position taken from plan order.

# What stands out

report = Job report { $job }, { $plan }
report-not-closed = Job report { $job }, { $plan }, job not closed yet
page-title = Job { $job }, { $plan }: { $headline }
nothing-open = Nothing of the plan is open
open-one = Open: 1 fastener
open-many = Open: { $n } fasteners
unconfirmed-one = Not confirmed: 1 item
unconfirmed-many = Not confirmed: { $n } items
life-critical = Life-critical
critical = { $critical }: do not move the vehicle.
critical-line = LIFE-CRITICAL, do not move the vehicle; { $because }
never-looked-up = its value was never looked up
nobody-stated = nobody stated that it is done
no-pull = no pull on record
not-confirmed-because = not confirmed: { $asked }
left-out-as-stated = left out on purpose, as stated
count-not-enough = the plan asks that each one is shown; a count is not enough
last-pull = last pull { $peak }, { $verdict }
last-pull-of-pass = last pull { $peak }, { $verdict } of pass { $pass } of { $passes }
hold-one = 1 hold not confirmed
hold-many = { $n } holds not confirmed
pull-again = To be pulled again
counting-one = 1 warning still counts
counting-many = { $n } warnings still count
recheck-distance = after { $km } km
recheck-day = by { $day }
recheck-either = { $distance } or { $day }
recheck-reminder = { $when } (reminder on { $day }: date by Clampbook, the distance counts)
recheck-reminder-alone = as the plan says (reminder on { $day }: date by Clampbook, the plan counts)
recheck-usual = { $when }, as is usual for a wheel; the maker's distance comes first

# The job

the-job = The job
vehicle = Vehicle
vin = VIN
plate = Plate
operator = Operator
plan = Plan
plan-file = Plan file
started = Started
closed = Closed
parked = Parked
pulls-again = Pulls again
left-open = Left open
times = Times
job = Job
pair = { $term }: { $value }
both = { $one }; { $other }
not-yet = not yet
closed-open = { $when }, with something open: { $reason }
from-to = { $from } to { $to }
not-resumed = { $from }, not resumed
parked-open = { $span }, open: { $names }
what-job-tightened = what job { $job } tightened
local-time = local, { $offset }

# What measured

adapters = Adapters
adapter = Adapter
no-adapter = No adapter took part.
serial = Serial
range = Range
accuracy = Accuracy
certificate = Certificate
it-tells = It tells
readings = Readings
drive = drive { $drive }
of-reading = ±{ $share } % of reading
not-on-record = not on record
tells-peak = peak
tells-rotation = rotation
tells-trace = trace
tells-motion = motion
tells-button = button
not-numbered = not numbered by it
certificate-line = { $number }, { $laboratory }, { $date }, due { $due }
method = method: { $method }
standing-valid = valid on the day
standing-overdue = overdue on the day
standing-later = calibrated only after the job
adapter-line = { $adapter }, serial { $serial }, { $accuracy }
accuracy-not-on-record = accuracy not on record
certificate-not-on-record = no calibration certificate on record
certificate-full = certificate { $number }, { $laboratory }, { $date }, due { $due }, { $standing }; method: { $method }
certificate-covers = covers { $low } to { $high } N·m, { $directions }
direction-clockwise = clockwise
direction-counter-clockwise = counter-clockwise
certificate-step = step of the display { $step } N·m
certificate-point = at { $torque } N·m { $error } ±{ $uncertainty } N·m
certificate-no-point = no point on record

# Holds

holds = Holds
hold = Hold
condition = Condition
confirmed = Confirmed
if-too-early = If too early
is-confirmed = confirmed
not-confirmed = not confirmed

# A step

critical-joint = Life-critical joint
pass = Pass
target = Target
window = Window
order = Order
check-round = check round
no-window = none
one-alone = one alone
any-order = any
no-hold = none
source = Source of the values
socket = Socket
thread = Thread
thread-condition = Thread condition
layout = Layout
after = After
fastener = Fastener
ended = Ended
last = Last pull
no-pull-on-record = No pull on record.
time = Time
peak = Peak
pull = Pull
how-sure = How sure
basis = Basis
brought = brought to its window: { $share }
still-counting = still counts
put-right-by-pull = put right by pull { $number } of adapter { $adapter }, { $at }
put-right-by-word = put right by what was stated, { $at }
turned = turned { $angle }
interval = 95 %: { $span }
by-certificate = by its certificate ±{ $uncertainty } N·m
close-to-limit = close to a limit
zero-moved = its adapter's zero had moved by { $moved } N·m
revised = revised
nothing-concluded = nothing concluded
typed-number = typed no. { $number }
reading-number = { $adapter } no. { $number }
pass-number = pass { $pass }
no-fastener-of-plan = no fastener of the plan
replaced = Replaced: first taken for { $fastener }, { $act }, { $verdict }, { $share }, because of { $basis }.
withdrawn = Revised: the pull of { $when } ({ $reading }) was first taken for this one; it is now taken for { $fastener }.
pass-line = pass { $pass }: { $target }
source-line = source of the values: { $source }
fastener-line = { $fastener }: { $ending }, brought to its window: { $share } [inferred]
verdict-of-pass = { $verdict } of pass { $pass }
concluded = { $act } [inferred, { $share }, by { $basis }]

# Drawings

ring = Ring, clockwise: { $members }
ring-numbered = Numbered clockwise as the operator sees them; 1 is where the operator starts.
ring-counted = Counted means count only: which one is not known.
ring-share = The percentage is inferred: how probable it is that this one was brought to its window and not loosened since.
ring-order = The figure inside says in which order they were last tightened (inferred).
ring-pitch-circle = Pitch circle { $diameter } mm.
trace = Torque of the pull of { $when }
trace-caption = Torque of { $when }. ▲ peak as the adapter told it, band: window.
trace-caption-snug = Torque of { $when }. ▲ peak as the adapter told it, ○ snug, band: window.
plot-angle = angle, degrees
plot-time = time, seconds
plot-time-without-pauses = time, seconds, without the pauses
plot-torque = torque, { $unit }
plot-window = window

# Lists

how-to-read = How to read this
no-fastener = Pulls that belong to no fastener
without-a-job = Recorded meanwhile, without a job
loose-typed = typed value { $number }: { $peak }
loose-reading = reading { $number } of adapter { $adapter }: { $peak }
loose-missing = readings { $first } to { $last } of adapter { $adapter } are missing
operator-said = What the operator said
nothing-said = Nothing.
said = Said
about = About
how = How
nothing-named = nothing named
corrected = Corrected later
correction = { $when }, about entry { $entry }, { $field }: { $text }
correction-line = about entry { $entry }, { $field }: { $text }
before = (before: { $text })
warnings = Warnings
no-warning = None.
kind = Kind
what-was-said = What was said
now = Now
none-named = none
for-the-record = for the record
whole-job = the job
hold-line = not confirmed: { $hold }: { $text }
recheck-line = pull again: { $group }, { $when }
counting-line = still counts: { $about }: { $warning }. { $text }
warning-line = { $about }: { $warning }. { $text }
warning-line-counts = { $about }: { $warning }, still counts. { $text }
link = The link
link-lost = lost
link-back = back
link-asleep = asleep (normal)
link-break = { $adapter } { $state } from { $from } to { $to } ({ $span }).
link-break-lasts = { $adapter } { $state } from { $from }, not back since.
link-line = { $adapter } { $state }: { $from } to { $to }
link-line-lasts = { $adapter } { $state }: { $from } to not back since
missing = Missing for good
missing-one = { $missing }: reading { $number } of { $adapter }, found { $when }.
missing-many = { $missing }: readings { $first } to { $last } of { $adapter }, found { $when }.
missing-line = missing for good: readings { $first } to { $last } of { $adapter }

# What could not be known

not-known = What could not be known
not-numbered-lost = Adapter { $adapter } does not number its readings: what was not heard is lost.
not-which-nor-turn = Adapter { $adapter } tells how tight, not which fastener nor whether it turned.
not-which = Adapter { $adapter } tells how tight, not which fastener.
no-certificate = No calibration certificate of adapter { $adapter } is on record.
certificate-overdue = The calibration of adapter { $adapter } was due on { $due }: take its readings as an indication.
certificate-later = Adapter { $adapter } was calibrated only on { $date }, after the job: what it measured before that is an indication.
typed-one = 1 value was typed: no adapter measured them, and nothing shows the tool.
typed-many = { $n } values were typed: no adapter measured them, and nothing shows the tool.
times-off = Times of pulls may be off by up to { $span }.
lost-one = 1 reading is known to be missing for good.
lost-many = { $n } readings are known to be missing for good.
more-may-follow = The job was still open when this was made: more may follow.

# How a pull is judged, and what to bear in mind

how-judged = How a pull is judged
decision-rule = A pull is judged by its peak at face value (simple acceptance): in the window if it lies between the limits, limits included. What is uncertain about the peak stands beside it and never widens a window.
decision-rule-guarded = { $rule } At { $groups } guarded acceptance is asked: a pull counts only where its uncertainty, too, lies inside the limits.
bear-in-mind = Bear in mind
caution-load = Torque is not clamp load. Friction in the thread and under the head decides how much of a correct torque becomes clamp, and it varies widely.
caution-values = The values are those of the plan. The right ones come from the maker's current service information for this very vehicle; compare them before you rely on this page.
caution-record = This page records readings and what was said. It is no finding of roadworthiness, and it does not replace an inspection.
caution-calibration = An adapter measures as well as its last calibration. Where no certificate is on record, take its readings as an indication.
caution-unseen = No adapter sees a missing washer, a dirty seat, the wrong part or the state of a thread. For those, this page has only what the operator confirmed.
caution-spent = A fastener that was pulled too far, or slackened, may be spent. Replace what is made for one use.
caution-stands = Stands carry the vehicle and chocks hold it, never the jack alone, and full torque can rock it. Keep the adapter off impact tools.
caution-law = Local codes come first, and so does licensed practice where the law asks for it. Check wheels again after the distance their maker gives.

# The foot

made = Made { $when } by Clampbook { $version }.
entry-one = 1 entry
entry-many = { $n } entries
chain = The journal then held { $entries }, chained by their hashes. While the last of them still has the hash { $hash }, nothing before it was changed.
chain-line = The journal then held { $entries }; the last of them has the hash { $hash }.
digest = Written as JSON in canonical form (RFC 8785), this report has the SHA-256 digest { $digest }. The code on the first page says so, with the job.
signed = Signed over that form ({ $algorithm }) with the key { $key }: { $value }.
code-label = Code for a camera: { $text }

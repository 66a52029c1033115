//! The shape of a plan file as a JSON Schema (draft 2020-12), for editors that complete and check while
//! somebody types.
//!
//! The types here are never made: they say what the parser takes. What a figure, a name or an `after`
//! means is only told by `plan check`.

use crate::core::decision::Rule;
use crate::core::fixture::Place;
use crate::core::joint::{Condition, Seat};
use crate::core::plan::rules::{
    Access, Kind, PrevailingMode, RecheckMethod, Reuse, SecuredBy, Turned,
};
use crate::core::plan::{By, Cure, Identity};
use schemars::{JsonSchema, schema_for};
use serde_json::json;
use std::collections::BTreeMap;

/// The schema of a plan file.
#[must_use]
pub fn schema() -> serde_json::Value {
    schema_for!(PlanText).to_value()
}

/// A plan: what must be tightened, how tight, in which order and condition.
#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields, title = "Plan")]
struct PlanText {
    /// What the plan is called.
    plan: String,
    /// The vehicle, in free text.
    vehicle: Option<String>,
    /// Vehicle identification number, as on its sign.
    vin: Option<String>,
    /// Registration plate, as on the vehicle.
    plate: Option<String>,
    tolerance: Option<ToleranceText>,
    /// Where the values come from.
    source: Option<String>,
    /// Joints in the order of the file; otherwise in any order, but for what `after` says.
    in_order: Option<bool>,
    /// Fragments that are taken in, as seen from this file.
    include: Option<OneOrMore>,
    /// Conditions that the operator confirms.
    holds: Option<BTreeMap<Name, HoldEntry>>,
    /// What is tightened. May come from fragments alone.
    joints: Option<BTreeMap<Name, JointEntry>>,
    /// What the job opens that has no torque.
    opened: Option<BTreeMap<Name, String>>,
    /// What is put in for the time being and must come out again.
    put_in: Option<BTreeMap<Name, String>>,
    /// What is asked before anything is opened.
    as_found: Option<BTreeMap<Name, AsFoundEntry>>,
    /// What is done before the job is closed.
    closing: Option<BTreeMap<Name, ClosingEntry>>,
}

/// Lower-case letters, digits and single hyphens, at most 48 characters.
#[derive(JsonSchema, PartialEq, Eq, PartialOrd, Ord)]
#[schemars(extend("pattern" = "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength" = 48))]
struct Name(String);

/// How tight: `228 N·m`, `228 N·m ±5 %`, `90..120 N·m`, `min 32 N·m max 44 N·m`, `?`, `none`, `by hand`.
#[derive(JsonSchema)]
#[schemars(extend("examples" = json!(["228 N·m", "75 lbf·ft +5/-0 lbf·ft", "min 32 N·m max 44 N·m", "?"])))]
struct FigureText(String);

/// How far above and below a target still counts: `±10 %`, `±5 N·m`, `+5/-0 N·m`.
#[derive(JsonSchema)]
#[schemars(extend("examples" = json!(["±10 %", "+5/-0 N·m"])))]
struct ToleranceText(String);

/// A length with its unit: `50 mm`, `2 in`.
#[derive(JsonSchema)]
#[schemars(extend("examples" = json!(["50 mm"])))]
struct LengthText(String);

/// An angle with its unit: `90°`.
#[derive(JsonSchema)]
#[schemars(extend("examples" = json!(["90°"])))]
struct AngleText(String);

/// A text, or a list of them.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OneOrMore {
    One(String),
    More(Vec<String>),
}

/// A condition: the question, or a table.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum HoldEntry {
    Question(String),
    Table(HoldTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct HoldTable {
    /// What the operator is asked.
    ask: String,
    /// What puts a pull right that was made too early.
    cure: Option<Cure>,
}

/// A joint: its torque, or a table where it needs more.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum JointEntry {
    Figure(FigureText),
    Table(Box<JointTable>),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct JointTable {
    /// Words for people.
    title: Option<String>,
    /// How many fasteners on a circle.
    #[schemars(range(min = 2, max = 64))]
    ring: Option<u16>,
    /// How many fasteners in any other layout.
    #[schemars(range(min = 1, max = 64))]
    line: Option<u16>,
    /// Diameter of the ring.
    pitch_circle: Option<LengthText>,
    target: Option<FigureText>,
    tolerance: Option<ToleranceText>,
    /// Rounds over the group, the target last, then turns by angle and check rounds.
    #[schemars(length(min = 1, max = 20))]
    passes: Option<Vec<PassEntry>>,
    order: Option<OrderEntry>,
    /// Names from `[holds]`, for the whole joint.
    hold: Option<OneOrMore>,
    /// Joints that must be finished first.
    after: Option<OneOrMore>,
    /// Both sides: NAME-left and NAME-right.
    sides: Option<bool>,
    /// What the group needs to count as done.
    identity: Option<Identity>,
    /// The part is turned so that each fastener comes to the hand.
    turned_to_reach: Option<bool>,
    /// Never pulled again once done.
    no_recheck: Option<bool>,
    /// Tightens counter-clockwise.
    left_hand: Option<bool>,
    /// No impact tool.
    by_hand_only: Option<bool>,
    /// `false`: a failure could not cost a life.
    life_critical: Option<bool>,
    /// Socket or bit.
    socket: Option<String>,
    /// Thread: `M12×1.5`, `1/2-20`.
    thread: Option<String>,
    /// Property class of the bolt: `8.8`, `10.9`, `12.9`, `grade 5`, `grade 8`.
    class: Option<String>,
    /// Condition that the value was published for, in free text.
    condition: Option<String>,
    /// Where this value comes from.
    source: Option<String>,
    /// For the operator.
    notes: Option<OneOrMore>,
    /// What sort of joint it is.
    kind: Option<Kind>,
    /// What it bears on.
    seat: Option<Seat>,
    /// What is on the threads.
    lubrication: Option<Condition>,
    /// The square of the socket.
    drive: Option<String>,
    /// What keeps the other side from turning.
    hold_with: Option<String>,
    /// Which side is turned.
    turned: Option<Turned>,
    /// Whether adapter and socket get there.
    access: Option<Access>,
    /// An offset between hand, adapter and fastener.
    crowfoot: Option<CrowfootTable>,
    /// How far a universal joint is bent.
    universal_joint: Option<AngleText>,
    /// Length and diameter of extension bars, like `250 mm × 12.7 mm`.
    extension: Option<OneOrMore>,
    castle_nut: Option<CastleEntry>,
    prevailing: Option<PrevailingEntry>,
    thread_locker: Option<LockerEntry>,
    /// Parts that are used once.
    single_use: Option<OneOrMore>,
    /// Parts that are bought for this joint.
    new_parts: Option<OneOrMore>,
    /// What secures it once it is tight.
    secured_by: Option<SecuredBy>,
    recheck: Option<RecheckEntry>,
    /// How its verdicts are reached.
    acceptance: Option<Rule>,
}

/// A round: a figure, `final`, `50 %`, `check`, `45°`, `back off 90°`, or a table.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum PassEntry {
    Figure(String),
    Table(PassTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct PassTable {
    /// A figure, `final`, `50 %` or `check`.
    target: Option<String>,
    tolerance: Option<ToleranceText>,
    /// Names from `[holds]`, for this round alone.
    hold: Option<OneOrMore>,
    order: Option<OrderEntry>,
    /// What the round is called.
    name: Option<String>,
    /// How far it is turned on from the target.
    angle: Option<AngleText>,
    /// How far it is backed off, to adjust a bearing; `true` if the data do not say.
    back_off: Option<BackOffEntry>,
    /// The torque that a turn by angle must end in, both ends.
    monitor: Option<FigureText>,
}

#[derive(JsonSchema)]
#[schemars(untagged)]
enum BackOffEntry {
    Unsaid(bool),
    Angle(AngleText),
}

/// Members in the order to be pulled: `1-4-2-5-3-6`, or a list.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum OrderEntry {
    Text(String),
    List(Vec<u16>),
}

/// An offset, square to the handle unless it says otherwise.
#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct CrowfootTable {
    /// Axis of the adapter to axis of the fastener.
    offset: LengthText,
    /// Angle to the handle's forward extension; 90° is square.
    angle: Option<AngleText>,
    /// Axis of the adapter to the middle of the hand.
    lever: Option<LengthText>,
    /// Where it is.
    place: Option<Place>,
}

/// A castle nut: `true` for the usual 60° from slot to slot, or the degrees.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum CastleEntry {
    Usual(bool),
    Pitch(AngleText),
}

/// A nut that grips its thread.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum PrevailingEntry {
    Usual(bool),
    Mode(PrevailingMode),
    Table(PrevailingTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct PrevailingTable {
    /// What is done with its grip.
    mode: Option<PrevailingMode>,
    /// Whether it may be used again.
    reuse: Option<Reuse>,
}

/// Thread locker: `true`, the product, or a table.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum LockerEntry {
    Usual(bool),
    Product(String),
    Table(LockerTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct LockerTable {
    /// Which.
    product: Option<String>,
    /// Within which it may still be pulled: `10 min`.
    working_time: Option<String>,
}

/// A later look: when, in words, or a table.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum RecheckEntry {
    When(String),
    Table(RecheckTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct RecheckTable {
    /// How.
    method: Option<RecheckMethod>,
    /// When.
    when: Option<String>,
}

/// A fact as found: the question, or a table.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum AsFoundEntry {
    Question(String),
    Table(AsFoundTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct AsFoundTable {
    /// What is asked.
    ask: String,
    /// How far a length may differ when it is compared again.
    within: Option<LengthText>,
    /// The hold at which it is compared.
    hold: Option<String>,
}

/// Something done before the job is closed: the question, or a table.
#[derive(JsonSchema)]
#[schemars(untagged)]
enum ClosingEntry {
    Question(String),
    Table(ClosingTable),
}

#[derive(JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields)]
struct ClosingTable {
    /// What is asked.
    ask: String,
    /// Who does it.
    by: Option<By>,
}

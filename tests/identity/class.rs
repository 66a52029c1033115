//! What an adapter and its operator tell, and what is to be reached with it.

/// A capability class.
#[derive(Debug, Clone, Copy)]
pub struct Class {
    pub name: &'static str,
    pub rotation: bool,
    pub trace: bool,
    pub motion: Option<Sense>,
    pub marks: bool,
    /// Rings with fewer members are left out.
    pub least_members: u16,
    pub goals: Goals,
}

/// How motion is told.
#[derive(Debug, Clone, Copy)]
pub struct Sense {
    pub direction: bool,
    /// Bounds of the standard deviation of one move an axis, millimetres.
    pub sd_mm: (f64, f64),
}

/// What is to be reached; `None` where there is no goal. False alarms are per 100 clean jobs.
#[derive(Debug, Clone, Copy)]
pub struct Goals {
    pub accuracy: Option<f64>,
    pub repeat: Option<(f64, f64)>,
    pub skipped: Option<(f64, f64)>,
    /// Round the clock, round the clock on a ring of four, one swapped pair; false alarms.
    pub order: Option<(f64, f64, f64, f64)>,
    /// Per 1 000 jobs.
    pub untrue_shown: f64,
}

const fn goals(
    accuracy: f64,
    repeat: (f64, f64),
    skipped: (f64, f64),
    order: Option<(f64, f64, f64, f64)>,
    untrue_shown: f64,
) -> Goals {
    Goals {
        accuracy: Some(accuracy),
        repeat: Some(repeat),
        skipped: Some(skipped),
        order,
        untrue_shown,
    }
}

const TURNED: Goals = goals(0.95, (0.98, 1.0), (0.985, 1.0), None, 2.0);

const PEAK: Class = Class {
    name: "peak only",
    rotation: false,
    trace: false,
    motion: None,
    marks: false,
    least_members: 2,
    goals: Goals { accuracy: None, repeat: None, skipped: None, order: None, untrue_shown: 0.0 },
};

pub const TRACE: Class = Class {
    name: "trace",
    trace: true,
    goals: goals(0.94, (0.92, 3.0), (0.96, 3.0), None, 3.0),
    ..PEAK
};

pub const CLASSES: [Class; 9] = [
    PEAK,
    TRACE,
    Class { name: "peak and rotation", rotation: true, goals: TURNED, ..PEAK },
    Class { name: "trace and rotation", rotation: true, trace: true, goals: TURNED, ..PEAK },
    Class {
        name: "motion, vector, sd <= 15 mm, n >= 5",
        motion: Some(Sense { direction: true, sd_mm: (5.0, 15.0) }),
        least_members: 5,
        goals: goals(0.97, (0.98, 1.0), (0.99, 1.0), Some((0.97, 0.97, 0.97, 1.0)), 1.0),
        ..PEAK
    },
    Class {
        name: "motion, vector, sd 15-20 mm",
        motion: Some(Sense { direction: true, sd_mm: (15.0, 20.0) }),
        goals: goals(0.96, (0.98, 1.0), (0.985, 1.0), Some((0.97, 0.90, 0.8, 1.0)), 2.0),
        ..PEAK
    },
    Class {
        name: "motion, distance",
        motion: Some(Sense { direction: false, sd_mm: (5.0, 20.0) }),
        goals: Goals {
            accuracy: None,
            repeat: None,
            skipped: Some((0.97, 1.0)),
            order: None,
            untrue_shown: 2.0,
        },
        ..PEAK
    },
    Class {
        name: "motion, vector, sd 5-20 mm, and rotation",
        rotation: true,
        motion: Some(Sense { direction: true, sd_mm: (5.0, 20.0) }),
        goals: goals(0.96, (0.98, 1.0), (0.985, 1.0), Some((0.97, 0.90, 0.8, 1.0)), 2.0),
        ..PEAK
    },
    Class {
        name: "marks, 1 % mis-said",
        marks: true,
        goals: goals(0.985, (0.98, 1.0), (0.99, 1.0), Some((0.98, 0.98, 0.98, 1.0)), 1.0),
        ..PEAK
    },
];

impl Class {
    /// True if something tells where a pull was, beyond the plan's order.
    pub fn tells_place(&self) -> bool {
        self.marks || self.motion.is_some()
    }
}

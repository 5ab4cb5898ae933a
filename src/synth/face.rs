//! One invented end face: what it is, its true state and what a later mating needs to know of it.

use super::event::Minute;

/// The true state, which only looks reveal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Clean,
    Dirty,
    Defective,
}

/// Side of an adapter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Plug,
    Bulkhead,
}

impl Side {
    /// The code it is written with.
    pub fn word(self) -> &'static str {
        match self {
            Side::Plug => "plug",
            Side::Bulkhead => "bulkhead",
        }
    }
}

/// One end face.
#[derive(Clone, Debug)]
pub struct Face {
    /// Name without the generation.
    pub name: String,
    /// Times it was replaced by a new one in the same place.
    pub generation: u8,
    /// Site where it is used in the end.
    pub home: usize,
    pub family: usize,
    pub optic: usize,
    pub side: Side,
    pub supplier: usize,
    /// Start and end of service, where known.
    pub service: (Option<Minute>, Option<Minute>),
    pub state: State,
    /// Stage of its last visit.
    pub last_stage: Option<usize>,
    /// Last readable look since the last mating, demating or cleaning: time, passed.
    pub last_look: Option<(Minute, bool)>,
    /// Last fault of any cause.
    pub last_fault: Option<Minute>,
    /// Hazard of dirt from a test lead since the last visit.
    pub touch: f64,
    /// That lead, by its number at its works, where it carries dirt.
    pub touched_by: Option<usize>,
    /// Looked at on receipt, and not joined since.
    pub received: bool,
}

impl Face {
    /// A lens behind a stop: no tool reaches it, and it touches nothing.
    pub fn sealed(&self) -> bool {
        self.optic == 2
    }

    /// The name as exported.
    pub fn label(&self) -> String {
        if self.generation == 0 {
            self.name.clone()
        } else {
            format!("{}.{}", self.name, self.generation + 1)
        }
    }

    /// The name of its rows in the exports of its site: a site that names places, not end faces,
    /// knows no generations.
    pub fn renewed(&self, place_named: bool) -> Face {
        Face {
            generation: self.generation + u8::from(!place_named),
            service: (None, None),
            state: State::Clean,
            last_stage: None,
            last_look: None,
            last_fault: None,
            touch: 0.0,
            touched_by: None,
            received: false,
            ..self.clone()
        }
    }
}

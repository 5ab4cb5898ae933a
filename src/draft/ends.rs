//! The ends of a connection: the canonical columns that name them, and words in names of export columns that tell them
//! apart, in eight languages (common practice).

/// Canonical columns that name the ends of a mating.
pub const MATED: [&str; 2] = ["end_face_a", "end_face_b"];
/// Canonical columns that name end faces.
pub const END_FACES: [&str; 3] = ["end_face", MATED[0], MATED[1]];

/// Words for the first end and for the second.
pub const ENDS: [[&str; 2]; 28] = [
    ["a", "b"],
    ["1", "2"],
    ["tx", "rx"],
    ["left", "right"],
    ["near", "far"],
    ["links", "rechts"],
    ["gauche", "droite"],
    ["sinistra", "destra"],
    ["lewy", "prawy"],
    ["from", "to"],
    ["origin", "destination"],
    ["source", "destination"],
    ["source", "target"],
    ["von", "nach"],
    ["von", "zu"],
    ["van", "naar"],
    ["de", "vers"],
    ["depart", "arrivee"],
    ["desde", "hasta"],
    ["de", "para"],
    ["origen", "destino"],
    ["origem", "destino"],
    ["origine", "destination"],
    ["origine", "destinazione"],
    ["quelle", "ziel"],
    ["zrodlo", "cel"],
    ["da", "verso"],
    ["od", "do"],
];

//! Words in names of columns that tell the two ends of a connection apart, in eight languages (common practice).

/// The first end and the second.
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

/// Canonical columns that name end faces.
pub const END_FACES: [&str; 3] = ["end_face", "end_face_a", "end_face_b"];

//! A header of each language, with its words in the cells, maps whole. Headers and rows are our own;
//! the words are common practice.

use motetrail::records::Table;

use super::fixture::{drafted, part};

/// An export of inspections with `|` between cells: header, then the words for a passing and a
/// failing look, each with stage, side, cap, finding, what next.
struct Export {
    language: &'static str,
    header: &'static str,
    pass: [&'static str; 4],
    fail: [&'static str; 6],
}

const CANONICAL: [&str; 14] = [
    "record",
    "at",
    "end_face",
    "stage",
    "family",
    "side",
    "outcome",
    "finding",
    "zone",
    "capped",
    "inspector",
    "instrument",
    "work_order",
    "disposition",
];

const EXPORTS: [Export; 8] = [
    Export {
        language: "English",
        header: "Inspection ID|Inspected at|EndFace|Stage|Connector type|Side|Result|Failure reason|Zone|Dust cap|Technician|Microscope|Work order no.|Disposition",
        pass: ["Goods in", "cord end", "Passed", "yes"],
        fail: ["Installation", "adapter", "Failed", "no", "scratch", "scrap"],
    },
    Export {
        language: "German",
        header: "Prüfungsnummer|Prüfdatum|Stirnfläche|Phase|Steckertyp|Seite|Prüfergebnis|Fehlerart|Zone|Staubkappe|Prüfer|Mikroskop|Auftrags-Nr.|Verbleib",
        pass: ["Wareneingang", "Stecker", "bestanden", "ja"],
        fail: ["Montage", "Kupplung", "nicht bestanden", "nein", "Kratzer", "Ausschuss"],
    },
    Export {
        language: "French",
        header: "N° d'inspection|Date du contrôle|Face optique|Étape|Type de connecteur|Côté|Résultat|Type de défaut|Zone|Capuchon|Technicien|Microscope|Bon de travail|Suite donnée",
        pass: ["Réception", "Jarretière", "Conforme", "oui"],
        fail: ["Installation", "Traversée", "Non conforme", "non", "Rayure", "Rebut"],
    },
    Export {
        language: "Spanish",
        header: "Nº de inspección|Fecha de inspección|Cara del conector|Etapa|Tipo de conector|Lado|Resultado|Tipo de defecto|Zona del defecto|Tapón|Técnico|Microscopio|Orden de trabajo|Disposición",
        pass: ["Recepción", "Latiguillo", "Apto", "sí"],
        fail: ["Instalación", "Adaptador", "No apto", "no", "Arañazo", "Rechazado"],
    },
    Export {
        language: "Italian",
        header: "N. ispezione|Data ispezione|Faccia terminale|Fase|Tipo connettore|Lato|Esito|Tipo di difetto|Zona difetto|Cappuccio|Tecnico|Microscopio|Ordine di lavoro|Destinazione",
        pass: ["Ricevimento", "Bretella", "Conforme", "sì"],
        fail: ["Installazione", "Passante", "Non conforme", "no", "Graffio", "Scarto"],
    },
    Export {
        language: "Dutch",
        header: "Inspectienummer|Inspectiedatum|Eindvlak|Fase|Connectortype|Zijde|Uitslag|Afkeurreden|Foutzone|Stofkapje|Inspecteur|Microscoop|Werkorder|Vervolg",
        pass: ["Ontvangst", "Stekker", "Goedgekeurd", "ja"],
        fail: ["Installatie", "Koppelbus", "Afgekeurd", "nee", "Kras", "Afkeur"],
    },
    Export {
        language: "Polish",
        header: "Nr inspekcji|Data inspekcji|Czoło złącza|Etap|Typ złącza|Strona|Wynik|Rodzaj wady|Strefa|Zaślepka|Kontroler|Mikroskop|Nr zlecenia|Decyzja",
        pass: ["Przyjęcie", "Wtyk", "Przeszedł", "tak"],
        fail: ["Instalacja", "Gniazdo", "Nie przeszedł", "nie", "Rysa", "Odrzucony"],
    },
    Export {
        language: "Portuguese",
        header: "Nº da inspeção|Data da inspeção|Face do conector|Etapa|Tipo de conector|Lado|Resultado|Tipo de defeito|Zona|Tampa|Técnico|Microscópio|Ordem de serviço|Destino",
        pass: ["Receção", "Cordão", "Aprovado", "sim"],
        fail: ["Instalação", "Adaptador", "Reprovado", "não", "Arranhão", "Sucata"],
    },
];

impl Export {
    fn text(&self) -> String {
        let [stage, side, outcome, capped] = self.pass;
        let [stage_2, side_2, outcome_2, capped_2, finding, then] = self.fail;
        let mut text = self.header.to_owned();
        for row in 0..30 {
            let time = format!("2025-03-{:02} 08:15:00", row + 1);
            let (name, order) = (format!("R{row:02}-1"), format!("A{:04}", row / 2));
            text.push_str(&if row % 3 == 0 {
                format!("\nL{row:03}|{time}|{name}|{stage_2}|LC|{side_2}|{outcome_2}|{finding}|A|{capped_2}|Ada Lorne|V1|{order}|{then}")
            } else {
                format!("\nL{row:03}|{time}|{name}|{stage}|SC|{side}|{outcome}|||{capped}|Wim Karsten|V2|{order}|")
            });
        }
        text
    }
}

#[test]
fn a_header_of_each_language_maps_whole_and_without_a_question() {
    for export in &EXPORTS {
        let draft = drafted(Table::Inspections, &export.text());
        let columns = part(&draft, 0, "columns");
        for (canonical, name) in CANONICAL.iter().zip(export.header.split('|')) {
            let found = columns.get(*canonical).and_then(|name| name.as_str());
            assert_eq!(found, Some(name), "{} {canonical}\n{}", export.language, draft.toml);
        }
        let asked: Vec<&str> = draft
            .doubts
            .iter()
            .map(|doubt| doubt.key.as_str())
            .filter(|key| key.starts_with("record"))
            .collect();
        assert_eq!(asked, Vec::<&str>::new(), "{}\n{}", export.language, draft.toml);
    }
}

#[test]
fn the_words_of_each_language_become_codes() {
    for export in &EXPORTS {
        let draft = drafted(Table::Inspections, &export.text());
        let values = part(&draft, 0, "values");
        let [stage, side, outcome, capped] = export.pass;
        let [stage_2, side_2, outcome_2, capped_2, finding, then] = export.fail;
        let expected = [
            ("stage", stage, "incoming"),
            ("stage", stage_2, "installation"),
            ("side", side, "plug"),
            ("side", side_2, "bulkhead"),
            ("outcome", outcome, "pass"),
            ("outcome", outcome_2, "fail"),
            ("capped", capped, "yes"),
            ("capped", capped_2, "no"),
            ("finding", finding, "defect"),
            ("disposition", then, "reject"),
        ];
        for (column, word, code) in expected.into_iter().filter(|(_, word, code)| word != code) {
            let found =
                values.get(column).and_then(|words| words.get(word)).and_then(|c| c.as_str());
            assert_eq!(found, Some(code), "{} {column} {word}\n{}", export.language, draft.toml);
        }
    }
}

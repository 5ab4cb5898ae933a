//! Headers of cleanings, matings and faults in each language, with plain cells.

use motetrail::records::{Kind, Table, columns};

use super::fixture::{drafted, part};

/// A line a header: language, table, then canonical column and export column of each.
const HEADERS: &str = "
English cleanings: record=Cleaning no; at=Cleaned at; end_face=Connector; stage=Stage; method=Cleaning method; tool=Cleaning tool; operator=Done by; work_order=Job
English matings: record=Mating ID; at=Mated; demated_at=Unmated; end_face_a=Port A; end_face_b=Port B; stage=Phase; operator=Technician; service=Circuit
English faults: record=Ticket; opened=Opened; cleared=Cleared; end_face=Port; cause=Root cause; remedy=Repair action; downtime_min=Downtime [min]; labour_min=Labour (minutes); visits=Site visits; cost=Total cost (EUR)
German cleanings: record=Reinigungs-Nr.; at=Gereinigt am; end_face=Steckverbinder; stage=Phase; method=Reinigungsverfahren; tool=Werkzeug; operator=Ausgeführt von; work_order=Auftragsnummer
German matings: record=Steckungsnummer; at=Gesteckt am; demated_at=Gelöst am; end_face_a=Anschluss A; end_face_b=Anschluss B; stage=Tätigkeit; operator=Monteur; service=Leitung
German faults: record=Störungsnummer; opened=Gemeldet am; cleared=Behoben am; end_face=Anschluss; cause=Störungsursache; remedy=Maßnahme; downtime_min=Ausfallzeit (min); labour_min=Arbeitszeit [Min.]; visits=Anfahrten; cost=Kosten EUR
French cleanings: record=N° nettoyage; at=Nettoyé le; end_face=Connecteur; stage=Étape; method=Méthode de nettoyage; tool=Outil; operator=Opérateur; work_order=Ordre de travail
French matings: record=N° raccordement; at=Raccordé le; demated_at=Déconnecté le; end_face_a=Extrémité A; end_face_b=Extrémité B; stage=Phase; operator=Intervenant; service=Liaison
French faults: record=N° incident; opened=Signalé le; cleared=Rétabli le; end_face=Connecteur; cause=Origine; remedy=Action corrective; downtime_min=Indisponibilité (min); labour_min=Main d'œuvre (min); visits=Déplacements; cost=Coût total (€)
Spanish cleanings: record=Nº de limpieza; at=Fecha de limpieza; end_face=Conector; stage=Etapa; method=Método de limpieza; tool=Herramienta; operator=Operario; work_order=Orden de trabajo
Spanish matings: record=Id. conexión; at=Conectado el; demated_at=Desconectado el; end_face_a=Extremo A; end_face_b=Extremo B; stage=Fase; operator=Técnico; service=Servicio
Spanish faults: record=Nº de avería; opened=Apertura; cleared=Cierre; end_face=Puerto; cause=Causa; remedy=Solución; downtime_min=Inactividad (minutos); labour_min=Mano de obra (min); visits=Desplazamientos; cost=Coste (EUR)
Italian cleanings: record=N. pulizia; at=Data pulizia; end_face=Connettore; stage=Fase; method=Metodo di pulizia; tool=Utensile; operator=Operatore; work_order=Commessa
Italian matings: record=ID connessione; at=Connesso il; demated_at=Scollegato il; end_face_a=Estremità A; end_face_b=Estremità B; stage=Fase; operator=Tecnico; service=Circuito
Italian faults: record=N. guasto; opened=Segnalato il; cleared=Risolto il; end_face=Porta; cause=Causa; remedy=Rimedio; downtime_min=Disservizio (min); labour_min=Manodopera (min); visits=Trasferte; cost=Costo (EUR)
Dutch cleanings: record=Reinigingsnummer; at=Gereinigd op; end_face=Connector; stage=Fase; method=Reinigingsmethode; tool=Gereedschap; operator=Uitvoerder; work_order=Werkbon
Dutch matings: record=Koppelingsnummer; at=Gekoppeld op; demated_at=Losgekoppeld op; end_face_a=Poort A; end_face_b=Poort B; stage=Fase; operator=Monteur; service=Lijn
Dutch faults: record=Storingsnummer; opened=Gemeld op; cleared=Hersteld op; end_face=Poort; cause=Oorzaak; remedy=Maatregel; downtime_min=Uitvaltijd (min); labour_min=Arbeidstijd (minuten); visits=Ritten; cost=Kosten (EUR)
Polish cleanings: record=Nr czyszczenia; at=Data czyszczenia; end_face=Złącze; stage=Etap; method=Metoda czyszczenia; tool=Narzędzie; operator=Wykonawca; work_order=Zlecenie
Polish matings: record=Nr połączenia; at=Połączono; demated_at=Rozłączono; end_face_a=Koniec A; end_face_b=Koniec B; stage=Faza; operator=Monter; service=Łącze
Polish faults: record=Nr awarii; opened=Data zgłoszenia; cleared=Data zamknięcia; end_face=Gniazdo; cause=Przyczyna; remedy=Sposób naprawy; downtime_min=Czas przestoju (min); labour_min=Robocizna (min); visits=Wyjazdy; cost=Koszt (PLN)
Portuguese cleanings: record=Nº da limpeza; at=Data da limpeza; end_face=Conector; stage=Etapa; method=Método de limpeza; tool=Ferramenta; operator=Operador; work_order=Ordem de serviço
Portuguese matings: record=ID da ligação; at=Ligado em; demated_at=Desligado em; end_face_a=Extremidade A; end_face_b=Extremidade B; stage=Fase; operator=Técnico; service=Circuito
Portuguese faults: record=Nº da avaria; opened=Data de abertura; cleared=Data de fecho; end_face=Porta; cause=Causa; remedy=Reparação; downtime_min=Indisponibilidade (min); labour_min=Mão de obra (min); visits=Deslocações; cost=Custo (EUR)
";

/// A cell of a canonical column.
fn cell(table: Table, column: &str, row: usize) -> String {
    let kind = columns(table).iter().find(|one| one.name == column).unwrap().kind;
    let word = |words: [&str; 2]| words[row % 2].to_owned();
    match (kind, column) {
        (Kind::Time, _) => format!("2025-03-{:02} 08:15:00", row + 1),
        (Kind::Integer | Kind::Minutes, _) => (row % 7 + 1).to_string(),
        (Kind::Money, _) => format!("{}.50", row + 10),
        (Kind::Person, _) => word(["Ada Lorne", "Wim Karsten"]),
        (_, "stage") => word(["incoming", "change"]),
        (_, "method") => word(["dry", "wet-dry"]),
        (_, "cause") => word(["contamination", "break"]),
        (_, "remedy") => word(["cleaned", "replaced"]),
        (_, "tool") => word(["T-1", "T-2"]),
        (_, "record") => format!("X{row:05}"),
        (_, "end_face_b") => format!("R{:02}-2", row % 11),
        _ => format!("R{:02}-1", row % 13),
    }
}

#[test]
fn headers_of_each_language_map_whole() {
    let mut wrong = Vec::new();
    for line in HEADERS.trim().lines() {
        let (title, header) = line.split_once(": ").unwrap();
        let (language, table) = title.split_once(' ').unwrap();
        let table = Table::named(table).unwrap();
        let header: Vec<(&str, &str)> =
            header.split("; ").map(|pair| pair.split_once('=').unwrap()).collect();
        let names: Vec<&str> = header.iter().map(|(_, name)| *name).collect();
        let rows = (0..30).map(|row| {
            let cells = header.iter().map(|(column, _)| cell(table, column, row));
            cells.collect::<Vec<_>>().join("|")
        });
        let text: Vec<String> = [names.join("|")].into_iter().chain(rows).collect();
        let draft = drafted(table, &text.join("\n"));
        let columns = part(&draft, 0, "columns");
        for (canonical, name) in &header {
            let found = columns.get(*canonical).and_then(|found| found.as_str());
            let key = format!("record[0].columns.{canonical}");
            let asked = draft.doubts.iter().find(|doubt| doubt.key == key);
            if found != Some(*name) || asked.is_some() {
                wrong.push(format!("{language} {name}: {canonical} is {found:?} {asked:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

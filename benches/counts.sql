-- Count tables, made of what `derive.sql` leaves: bands are those of F4. Leaves out what fell in no
-- cell, and so the check that cells and the rest add up. Of the program's count tables (a test holds
-- both lists against it; matings and their weeks are one table here)
-- Makes: visits, work_orders, site_days, cycles, cleanings, matings, mating_weeks, follow_up,
-- in_force, since_mating, faults, site_months.
-- Leaves out: carrier_trials, carrier_cells, exposures, carrier_orders, carrier_order_cells,
-- carrier_order_pairs, cycle_trials, beginnings, mating_clusters, mated_ends, passages, passage_weeks,
-- passage_loads, second_looks, suppliers, first_looks, unreadable, site_weeks, variants, late_tickets,
-- ticket_sources, replacements, week_prices, variant_prices, fault_prices, force_weeks, follow_weeks,
-- watched, recurrences, restores, downtimes, looked_at, fault_records, look_pairs, end_faces, escapes,
-- visit_months, mating_months, risk_sets, risk_faults, risk_variants.
CREATE TEMP TABLE visit_counts AS
SELECT date_trunc('quarter', start) AS quarter, site, stage, family, side, supplier, capped,
       CASE WHEN optic = 'recessed-lens' THEN 'recessed' WHEN again THEN 'again' ELSE 'routine' END AS row,
       visit = 1 AS recorded, count(*) AS visits, count(*) FILTER (looked_first) AS looks,
       count(*) FILTER (clean) AS clean,
       count(*) FILTER (looked_first AND first_finding = 'contamination') AS contaminated,
       count(*) FILTER (looked_first AND first_finding = 'defect') AS defective,
       sum(cleanings) AS cleanings, count(*) FILTER (ending = 'rejected') AS rejects
FROM visits GROUP BY ALL;

CREATE TEMP TABLE work_orders AS
SELECT stage, family, side, site, supplier, capped, work_order, count(*) AS looks,
       count(*) FILTER (clean) AS clean
FROM visits WHERE start >= getvariable('period_start') AND start < getvariable('period_end')
              AND looked_first AND NOT coalesce(again, false) GROUP BY ALL;

CREATE TEMP TABLE site_days AS
SELECT stage, family, side, site, supplier, capped, date_trunc('day', start) AS day,
       count(*) AS looks, count(*) FILTER (clean) AS clean
FROM visits WHERE start >= getvariable('period_start') AND start < getvariable('period_end')
              AND looked_first AND NOT coalesce(again, false) GROUP BY ALL;

CREATE TEMP TABLE cycle_counts AS
WITH exits AS (
    SELECT date_trunc('quarter', start) AS quarter, site, stage, family, first_method,
           coalesce(passed_cycle, done) AS cycle,
           CASE WHEN passed_cycle IS NOT NULL THEN 'passed'
                WHEN passed_place IS NOT NULL THEN 'censored'
                WHEN ending = 'rejected' OR last_finding = 'defect' THEN 'rejected'
                WHEN ending = 'left-failing' THEN 'left' ELSE 'censored' END AS exit
    FROM visits WHERE looked_first AND first_finding = 'contamination' AND optic <> 'recessed-lens'
)
SELECT quarter, site, stage, family, NULL AS method, cycle, exit, count(*) AS visits
FROM exits GROUP BY ALL
UNION ALL
SELECT quarter, site, stage, family, first_method, cycle, exit, count(*) FROM exits GROUP BY ALL;

CREATE TEMP TABLE cleaning_counts AS
SELECT date_trunc('quarter', v.start) AS quarter, v.site, v.stage, v.family, c.method,
       count(*) FILTER (NOT began_clean AND closed_by IS NOT NULL) AS cycles,
       count(*) FILTER (NOT began_clean AND closed_by = 'pass') AS passed,
       count(*) FILTER (NOT began_clean AND c.finding = 'contamination') AS contaminated,
       sum(c.cleanings) AS cleanings, count(*) FILTER (began_clean) AS while_clean,
       count(*) FILTER (began_clean AND closed_by = 'fail') AS soiled
FROM cycles c JOIN visits v USING (end_face, visit) GROUP BY ALL;

CREATE TEMP TABLE mating_counts AS
SELECT date_trunc('quarter', "at") AS quarter, date_trunc('week', "at") AS week, site, stage, family,
       coverage, count(*) AS matings, sum(unseen) AS unseen_ends
FROM joined WHERE "at" < getvariable('period_end') GROUP BY ALL;

CREATE TEMP TABLE follow_up AS
WITH bands(band, low, high) AS (
    VALUES (0, INTERVAL 0 DAYS, INTERVAL 7 DAYS), (1, INTERVAL 7 DAYS, INTERVAL 30 DAYS),
           (2, INTERVAL 30 DAYS, INTERVAL 90 DAYS)
), pieces AS (
    SELECT f.*, b.band, greatest(from_at, "at" + low) AS piece_from, "at" + high AS piece_to,
           band = 2 AS is_last
    FROM followed f, bands b WHERE from_at <= to_at
), timed AS (
    SELECT *,
           least(to_at, linked_at, piece_to) AS linked_to,
           least(to_at, confirmed_at, piece_to) AS confirmed_to,
           least(to_at, suspect_at, piece_to) AS suspect_to,
           least(to_at, any_at, piece_to) AS any_to,
           least(to_at, control_at, piece_to) AS control_to
    FROM pieces
)
SELECT date_trunc('quarter', "at") AS quarter, site, stage, family, after_fault, coverage, band,
       count(*) FILTER (from_at >= piece_from AND from_at < piece_to) AS started,
       sum(unseen) AS unseen_ends,
       count(*) FILTER (linked_at >= piece_from AND linked_at <= to_at
           AND (linked_at < piece_to OR is_last)) AS linked,
       sum(greatest(0, epoch(linked_to) - epoch(piece_from))) AS linked_s,
       count(*) FILTER (confirmed_at >= piece_from AND confirmed_at <= to_at
           AND (confirmed_at < piece_to OR is_last)) AS confirmed,
       sum(greatest(0, epoch(confirmed_to) - epoch(piece_from))) AS confirmed_s,
       count(*) FILTER (suspect_at >= piece_from AND suspect_at <= to_at
           AND (suspect_at < piece_to OR is_last)) AS suspect,
       sum(greatest(0, epoch(suspect_to) - epoch(piece_from))) AS suspect_s,
       count(*) FILTER (any_at >= piece_from AND any_at <= to_at
           AND (any_at < piece_to OR is_last)) AS "any",
       sum(greatest(0, epoch(any_to) - epoch(piece_from))) AS any_s,
       count(*) FILTER (control_at >= piece_from AND control_at <= to_at
           AND (control_at < piece_to OR is_last)) AS control,
       sum(greatest(0, epoch(control_to) - epoch(piece_from))) AS control_s,
       sum(cost) AS cost, sum(costed) AS costed
FROM timed GROUP BY ALL;

CREATE TEMP TABLE in_force AS
WITH quarters AS (
    SELECT q AS quarter, q + INTERVAL 3 MONTHS AS next
    FROM range(TIMESTAMP '2025-01-01', TIMESTAMP '2026-07-01', INTERVAL 3 MONTHS) r(q)
)
SELECT quarter, site, stage, family, count(*) AS matings,
       count(*) FILTER (linked_at >= quarter AND linked_at < next AND linked_at <= observed_to) AS linked,
       sum(greatest(0, epoch(least(observed_to, linked_at, next)) - epoch(greatest(from_at, quarter))))
           AS linked_s,
       sum(greatest(0, epoch(least(observed_to, confirmed_at, next))
           - epoch(greatest(from_at, quarter)))) AS confirmed_s,
       sum(greatest(0, epoch(least(observed_to, suspect_at, next))
           - epoch(greatest(from_at, quarter)))) AS suspect_s,
       sum(greatest(0, epoch(least(observed_to, any_at, next))
           - epoch(greatest(from_at, quarter)))) AS any_s
FROM followed JOIN quarters ON from_at < next AND observed_to >= quarter
GROUP BY ALL;

CREATE TEMP TABLE since_mating AS
WITH spans AS (
    SELECT date_trunc('quarter', "at") AS quarter, after_fault, coverage,
           date_diff('day', "at", from_at) AS first_day,
           date_diff('day', "at", least(to_at, linked_at)) AS last_day,
           coalesce(linked_at <= to_at, false) AS event
    FROM followed WHERE from_at <= to_at
)
SELECT quarter, after_fault, coverage, first_day AS day, count(*) AS entered, 0 AS "left", 0 AS linked
FROM spans GROUP BY ALL
UNION ALL
SELECT quarter, after_fault, coverage, last_day, 0, count(*), count(*) FILTER (event)
FROM spans GROUP BY ALL;

CREATE TEMP TABLE fault_counts AS
SELECT date_trunc('quarter', fault_at) AS quarter, j.site, j.stage, j.family, cause, level,
       count(*) AS faults, sum(tickets) AS tickets, sum(cost) AS cost, sum(downtime_min) AS downtime_min
FROM merged JOIN joined j USING (mating) GROUP BY ALL;

CREATE TEMP TABLE site_months AS
SELECT date_trunc('month', "at") AS month, site, count(*) FILTER (kind = 2) AS looks,
       count(*) FILTER (kind = 1) AS cleanings, count(*) FILTER (kind = 3 AND end_number = 0) AS matings
FROM events GROUP BY ALL;

CREATE TEMP TABLE totals AS
SELECT 'visits' AS name, count(*) AS count FROM visits
UNION ALL SELECT 'matings', sum(matings)::BIGINT FROM mating_counts
UNION ALL SELECT 'both', sum(matings)::BIGINT FROM mating_counts WHERE coverage = 'both'
UNION ALL SELECT 'linked', sum(linked)::BIGINT FROM follow_up;

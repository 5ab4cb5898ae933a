-- The derivation of section 4 as SQL: visits and cycles (V1 to V6), coverage (C1, C2), next mating,
-- follow-up with faults (F1 to F3). `counts.sql` makes the count tables of them.
--
-- Reads the views looks, cleanings, matings and faults. Leaves out, so that it does less than the
-- program: the register, multi-fibre looks, times known to the day, zones (quarters, weeks and days
-- are cut in UTC), attributes that change in the course of an end face's life, work orders known
-- only to some events of a visit, the order at one instant beyond kind and record, rejects on
-- unreadable looks, "prompted" (V7), "again" across short matings, reseats (C3), the cover of looks
-- within the coverage window, lagged tickets and records ambiguous within a site (F2), criteria,
-- the end of service. Faults are merged by gaps of a day, not by a day from the first.

SET VARIABLE cover_from = TIMESTAMP '2024-12-31 23:00:00';
SET VARIABLE period_start = TIMESTAMP '2026-03-31 22:00:00';
SET VARIABLE period_end = TIMESTAMP '2026-06-30 22:00:00';

-- Events by end face, numbered in order. kind: 0 demating, 1 cleaning, 2 look, 3 mating, 4 demating at
-- its mating's time.
CREATE TEMP TABLE events AS
WITH mated AS (
    SELECT *, row_number() OVER () AS mating FROM matings
), ends AS (
    SELECT *, end_face_a AS end_face, 0 AS end_number FROM mated WHERE end_face_a IS NOT NULL
    UNION ALL BY NAME
    SELECT *, end_face_b AS end_face, 1 AS end_number FROM mated WHERE end_face_b IS NOT NULL
), rows AS (
    SELECT end_face, "at", 2 AS kind, record, site, stage, outcome, finding, family, side, optic,
           supplier, capped, work_order, disposition,
           NULL::VARCHAR AS method, NULL::BIGINT AS mating, NULL::INTEGER AS end_number
    FROM looks WHERE outcome <> 'unreadable'
    UNION ALL BY NAME
    SELECT end_face, "at", 1 AS kind, record, site, stage, method, work_order FROM cleanings
    UNION ALL BY NAME
    SELECT end_face, "at", 3 AS kind, record, site, stage, work_order, mating, end_number FROM ends
    UNION ALL BY NAME
    SELECT end_face, demated_at AS "at", CASE WHEN demated_at = "at" THEN 4 ELSE 0 END AS kind,
           record, site, stage, mating, end_number
    FROM ends WHERE demated_at IS NOT NULL
)
SELECT * EXCLUDE (record),
       row_number() OVER ordered AS n,
       lag(kind) OVER ordered AS kind_before,
       lag(outcome) OVER ordered AS outcome_before,
       lag("at") OVER ordered AS at_before,
       sum((kind = 3)::INTEGER) OVER (ordered ROWS UNBOUNDED PRECEDING) AS matings_before
FROM rows
WINDOW ordered AS (PARTITION BY end_face ORDER BY "at", kind, record);

-- What an end face is, by its looks (R3).
CREATE TEMP TABLE faces AS
SELECT end_face, arg_min(family, "at") AS family, any_value(optic) AS optic
FROM looks GROUP BY end_face;

-- V1: where visits begin; V2: which cycle an event belongs to.
CREATE TEMP TABLE work AS
WITH compared AS (
    SELECT *, lag(kind) OVER ordered AS work_before,
           coalesce("at" - lag("at") OVER ordered > INTERVAL 8 HOURS
               OR stage <> lag(stage) OVER ordered OR site <> lag(site) OVER ordered
               OR matings_before <> lag(matings_before) OVER ordered
               OR coalesce(work_order <> lag(work_order) OVER ordered, false), true) AS opens
    FROM events WHERE kind IN (1, 2)
    WINDOW ordered AS (PARTITION BY end_face ORDER BY n)
)
SELECT *, kind = 2 AND work_before = 1 AND NOT opens AS closes,
       sum(opens::INTEGER) OVER so_far AS visit,
       sum((kind = 1 AND (opens OR work_before = 2))::INTEGER) OVER so_far AS cycle
FROM compared
WINDOW so_far AS (PARTITION BY end_face ORDER BY n ROWS UNBOUNDED PRECEDING);

CREATE TEMP TABLE cycles AS
SELECT end_face, visit, cycle,
       count(*) FILTER (kind = 1) AS cleanings,
       CASE WHEN min(method) = max(method) THEN min(method) ELSE 'mixed' END AS method,
       any_value(outcome) FILTER (closes) AS closed_by,
       any_value(finding) FILTER (closes) AS finding,
       bool_or(kind = 1 AND NOT opens AND work_before = 2 AND outcome_before = 'pass') AS began_clean
FROM work WHERE kind = 1 OR closes
GROUP BY ALL;

-- V3 to V6.
CREATE TEMP TABLE visits AS
WITH seen AS (
    SELECT end_face, visit, min("at") AS start, any_value(site) AS site, any_value(stage) AS stage,
           arg_min(kind, n) = 2 AS looked_first,
           arg_min(outcome, n) AS first_outcome, arg_min(finding, n) AS first_finding,
           arg_min(family, n) AS family, arg_min(side, n) AS side,
           arg_min(optic, n) AS optic, arg_min(supplier, n) AS supplier,
           arg_min(capped, n) FILTER (kind = 2) AS capped,
           arg_max(kind, n) AS last_kind, arg_max(outcome, n) AS last_outcome,
           arg_max(finding, n) AS last_finding,
           arg_max(coalesce(disposition, ''), n) AS disposition,
           count(*) FILTER (kind = 1) AS cleanings,
           min(n) FILTER (outcome = 'pass') AS passed_place,
           any_value(work_order) AS work_order, min(matings_before) AS matings_before
    FROM work GROUP BY end_face, visit
), passes AS (
    SELECT end_face, visit, min(cycle) FILTER (closed_by = 'pass') - min(cycle) + 1 AS passed_cycle,
           count(*) FILTER (closed_by IS NOT NULL) AS done, arg_min(method, cycle) AS first_method
    FROM cycles GROUP BY end_face, visit
)
SELECT seen.*, passed_cycle, coalesce(done, 0) AS done, first_method,
       looked_first AND first_outcome = 'pass' AS clean,
       CASE WHEN last_kind = 1 THEN 'unverified'
            WHEN disposition IN ('reject', 'repolish', 'replace') THEN 'rejected'
            WHEN last_outcome = 'pass' THEN 'passed' ELSE 'left-failing' END AS ending,
       lag(stage) OVER ordered = stage AND lag(seen.matings_before) OVER ordered = seen.matings_before
           AS again
FROM seen LEFT JOIN passes USING (end_face, visit)
WINDOW ordered AS (PARTITION BY end_face ORDER BY visit);

-- C1 and C2; F2: in force.
CREATE TEMP TABLE joined AS
WITH halves AS (
    SELECT mating, end_number, faces.family,
           lead("at") OVER (PARTITION BY end_face ORDER BY n) AS next_mating_at,
           CASE WHEN optic = 'recessed-lens' THEN 'seen'
                WHEN kind_before = 2 AND "at" - at_before <= INTERVAL 24 HOURS
                THEN CASE outcome_before WHEN 'pass' THEN 'seen' ELSE 'failing' END
                ELSE 'unseen' END AS state
    FROM (SELECT * EXCLUDE (family, optic) FROM events WHERE kind = 3)
    LEFT JOIN faces USING (end_face)
), site_looks AS (
    SELECT DISTINCT site, date_trunc('month', "at") AS month FROM looks
), numbered AS (
    SELECT *, row_number() OVER () AS mating FROM matings
)
SELECT m.mating, m.record, m.site, m.stage, m."at", m.end_face_a, m.end_face_b,
       coalesce(a.family, b.family) AS family,
       greatest(m."at", least(m.demated_at, a.next_mating_at, b.next_mating_at)) AS in_force_end,
       (a.state = 'unseen')::INTEGER + (b.state = 'unseen')::INTEGER AS unseen,
       CASE WHEN a.state = 'failing' OR b.state = 'failing' THEN 'despite-fail'
            WHEN a.state IS NULL OR b.state IS NULL THEN 'unknown'
            WHEN a.state = 'seen' AND b.state = 'seen' THEN 'both'
            WHEN s.site IS NULL THEN 'unknown'
            WHEN a.state = 'unseen' AND b.state = 'unseen' THEN 'none'
            ELSE 'one' END AS coverage
FROM numbered m
LEFT JOIN halves a ON a.mating = m.mating AND a.end_number = 0
LEFT JOIN halves b ON b.mating = m.mating AND b.end_number = 1
LEFT JOIN site_looks s ON s.site = m.site AND s.month = date_trunc('month', m."at");

-- F2 and F3: tickets on matings, merged.
CREATE TEMP TABLE merged AS
WITH rated AS (
    SELECT *, CASE WHEN cause = 'contamination' THEN 3
                   WHEN remedy = 'cleaned' THEN 2
                   WHEN cause = 'no-fault-found' AND remedy IN ('reseated', 'cleaned') THEN 1
                   ELSE 0 END AS level,
           cause IN ('break', 'bend', 'equipment') AS control
    FROM faults WHERE opened < getvariable('period_end')
), by_record AS (
    SELECT r.*, j.mating AS number
    FROM rated r JOIN joined j ON j.site = r.site AND j.record = r.mating
), ends AS (
    SELECT end_face_a AS face, "at", in_force_end, mating AS number FROM joined
    UNION ALL
    SELECT end_face_b, "at", in_force_end, mating FROM joined
), by_face AS (
    SELECT r.*, e.number
    FROM (FROM rated WHERE mating IS NULL AND end_face IS NOT NULL) r
    ASOF JOIN (FROM ends WHERE face IS NOT NULL) e ON r.end_face = e.face AND r.opened >= e."at"
    WHERE e.in_force_end IS NULL OR r.opened <= e.in_force_end
), attached AS (
    FROM by_record UNION ALL FROM by_face
), gaps AS (
    SELECT *, CASE WHEN opened - lag(opened) OVER (PARTITION BY number ORDER BY opened, record)
                        <= INTERVAL 24 HOURS THEN 0 ELSE 1 END AS begins
    FROM attached
), groups AS (
    SELECT *, sum(begins) OVER (PARTITION BY number ORDER BY opened, record) AS fault FROM gaps
)
SELECT number AS mating, fault, min(opened) AS fault_at, max(level) AS level,
       arg_max(cause, level) AS cause, bool_or(control) AS control, sum(cost) AS cost,
       count(*) AS tickets, sum(downtime_min) AS downtime_min, max(cleared) AS cleared
FROM groups GROUP BY ALL;

-- F1, C3: spans at risk, with the first fault of each definition and what came shortly before.
CREATE TEMP TABLE followed AS
WITH shortly AS (
    SELECT end_face_a AS face, fault_at FROM merged JOIN joined USING (mating)
    UNION ALL
    SELECT end_face_b, fault_at FROM merged JOIN joined USING (mating)
), spans AS (
    SELECT *, greatest("at", getvariable('cover_from')) AS from_at,
           least(in_force_end, getvariable('period_end')) AS observed_to,
           least(in_force_end, getvariable('period_end'), "at" + INTERVAL 90 DAYS) AS to_at
    FROM joined WHERE stage NOT IN ('production', 'incoming')
), firsts AS (
    SELECT mating,
           min(fault_at) FILTER (level >= 2) AS linked_at,
           min(fault_at) FILTER (level = 3) AS confirmed_at,
           min(fault_at) FILTER (level >= 1) AS suspect_at,
           min(fault_at) AS any_at,
           min(fault_at) FILTER (control) AS control_at,
           sum(cost) FILTER (level >= 2) AS cost, count(*) FILTER (level >= 2) AS costed
    FROM merged JOIN joined USING (mating)
    WHERE fault_at >= "at" GROUP BY mating
)
SELECT s.*, f.* EXCLUDE (mating),
       coalesce(s."at" - a.fault_at <= INTERVAL 30 DAYS, false)
           OR coalesce(s."at" - b.fault_at <= INTERVAL 30 DAYS, false) AS after_fault
FROM spans s
LEFT JOIN firsts f USING (mating)
ASOF LEFT JOIN shortly a ON a.face = s.end_face_a AND a.fault_at < s."at"
ASOF LEFT JOIN shortly b ON b.face = s.end_face_b AND b.fault_at < s."at";

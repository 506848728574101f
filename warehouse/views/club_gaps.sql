-- relation: club_gaps
-- comment: Gaps between clubs that follow each other in carry, full swings, still air.
-- grain: player, ball, longer club, shorter club
-- columns:
--   longer_club: Club that carries farther
--   shorter_club: Next shorter club
--   longer_carry_m: Carry of the longer club [m]
--   shorter_carry_m: Carry of the shorter club [m]
--   gap_m: Difference of the two [m]
--   gap_se_m: Its standard error [m]
--   gap_low_m: Lower end of its 90 % interval [m]
--   gap_high_m: Upper end of its 90 % interval [m]
--   overlap_probability: Chance that the shorter club's next shot carries past the longer's
--   expected_gap_m: Gap that the lofts lead to expect; NULL where a loft is unknown [m]
--   verdict: large, small or usual against that; NULL where a loft is unknown
CREATE OR REPLACE VIEW club_gaps AS
SELECT
    player, ball, longer_club, shorter_club,
    longer_carry_m, yards(longer_carry_m) AS longer_carry_yd,
    shorter_carry_m, yards(shorter_carry_m) AS shorter_carry_yd,
    gap_m, yards(gap_m) AS gap_yd,
    gap_se_m, yards(gap_se_m) AS gap_se_yd,
    gap_low_m, yards(gap_low_m) AS gap_low_yd,
    gap_high_m, yards(gap_high_m) AS gap_high_yd,
    overlap_probability,
    expected_gap_m, yards(expected_gap_m) AS expected_gap_yd,
    verdict
FROM fits.club_gaps
ORDER BY player, ball, longer_carry_m DESC;

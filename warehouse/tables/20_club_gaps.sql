-- relation: fits.club_gaps
-- comment: Gaps between neighbouring clubs.
-- grain: player, ball, longer club, shorter club
CREATE TABLE IF NOT EXISTS fits.club_gaps (
    player VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    longer_club VARCHAR NOT NULL,
    shorter_club VARCHAR NOT NULL,
    longer_carry_m DOUBLE,
    shorter_carry_m DOUBLE,
    gap_m DOUBLE,
    gap_se_m DOUBLE,
    gap_low_m DOUBLE,
    gap_high_m DOUBLE,
    overlap_probability DOUBLE,
    expected_gap_m DOUBLE,
    verdict VARCHAR,
    PRIMARY KEY (player, ball, longer_club, shorter_club)
);

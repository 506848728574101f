-- relation: fits.session_flags
-- comment: Sessions and clubs that stand out beyond ordinary drift.
-- grain: player, session, club, swing, ball, test
CREATE TABLE IF NOT EXISTS fits.session_flags (
    player VARCHAR NOT NULL,
    session_id VARCHAR NOT NULL,
    started_at TIMESTAMP,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    test VARCHAR NOT NULL,
    feature VARCHAR,
    shift DOUBLE,
    club_shift DOUBLE,
    shift_unit VARCHAR,
    statistic DOUBLE,
    threshold DOUBLE,
    probability DOUBLE,
    past_sessions INTEGER,
    cause VARCHAR,
    PRIMARY KEY (player, session_id, club, swing, ball, test)
);

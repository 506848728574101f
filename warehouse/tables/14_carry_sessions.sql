-- relation: fits.carry_sessions
-- comment: Carry and spread session by session, and the level over time.
-- grain: player, club, swing, ball, session
CREATE TABLE IF NOT EXISTS fits.carry_sessions (
    player VARCHAR NOT NULL,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    ball VARCHAR NOT NULL,
    session_id VARCHAR NOT NULL,
    started_at TIMESTAMP,
    shots INTEGER,
    clean_shots DOUBLE,
    session_carry_m DOUBLE,
    session_carry_se_m DOUBLE,
    session_carry_sd_m DOUBLE,
    level_m DOUBLE,
    level_se_m DOUBLE,
    level_low_m DOUBLE,
    level_high_m DOUBLE,
    current_level_m DOUBLE,
    current_level_se_m DOUBLE,
    current_level_low_m DOUBLE,
    current_level_high_m DOUBLE,
    change_m DOUBLE,
    change_low_m DOUBLE,
    change_high_m DOUBLE,
    changed BOOLEAN,
    PRIMARY KEY (player, club, swing, ball, session_id)
);

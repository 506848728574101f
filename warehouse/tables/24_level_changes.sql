-- relation: fits.level_changes
-- comment: Changes of a player's level of carry, all clubs asked together.
-- grain: player, kind, since
CREATE TABLE IF NOT EXISTS fits.level_changes (
    player VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    since TIMESTAMP NOT NULL,
    what VARCHAR,
    sessions_before INTEGER NOT NULL,
    sessions_after INTEGER NOT NULL,
    change DOUBLE NOT NULL,
    change_low DOUBLE NOT NULL,
    change_high DOUBLE NOT NULL,
    probability DOUBLE NOT NULL,
    changed BOOLEAN NOT NULL,
    provisional BOOLEAN NOT NULL,
    PRIMARY KEY (player, kind, since)
);

-- relation: fits.putting_start_lines
-- comment: Start-direction spread of putts.
-- grain: player, break
CREATE TABLE IF NOT EXISTS fits.putting_start_lines (
    player VARCHAR NOT NULL,
    break VARCHAR NOT NULL,
    putts INTEGER,
    sessions INTEGER,
    start_direction_deg DOUBLE,
    start_direction_se_deg DOUBLE,
    start_sd_deg DOUBLE,
    start_sd_low_deg DOUBLE,
    start_sd_high_deg DOUBLE,
    share_holed_dead_weight DOUBLE,
    share_holed_dead_weight_low DOUBLE,
    share_holed_dead_weight_high DOUBLE,
    share_holed_firm DOUBLE,
    share_holed_firm_low DOUBLE,
    share_holed_firm_high DOUBLE,
    share_holed_hard DOUBLE,
    share_holed_hard_low DOUBLE,
    share_holed_hard_high DOUBLE,
    against_rule_of_thumb VARCHAR,
    PRIMARY KEY (player, break)
);

-- relation: fits.shot_fits
-- comment: What the models say of each shot.
-- grain: a shot
-- columns:
--   still_carry_m: Carry along the target line brought to still air [m]
--   still_side_m: Landing point across the target line brought to still air, right positive [m]
--   still_se_m: Standard error that bringing the carry to still air adds [m]
--   still_side_se_m: The same for the side [m]
--   still_basis: How it was brought to still air
--   strike: clean or mishit; NULL where there is no carry
--   mishit_probability: Probability that the strike was a mishit
CREATE TABLE IF NOT EXISTS fits.shot_fits (
    player VARCHAR NOT NULL,
    shot_id VARCHAR NOT NULL,
    still_carry_m DOUBLE,
    still_side_m DOUBLE,
    still_se_m DOUBLE,
    still_side_se_m DOUBLE,
    still_basis VARCHAR NOT NULL,
    strike VARCHAR,
    mishit_probability DOUBLE
);

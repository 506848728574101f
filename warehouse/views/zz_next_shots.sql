-- relation: next_shots
-- comment: Random next landing points of a player's club in still air, drawn in SQL alone from
--   the fitted distribution: so many shots for each swing and ball, the same for the same seed.
--   The squared radius of a bivariate t has a closed quantile; a mishit's side divides one normal
--   by the root of a chi-square of three degrees, made of a logarithm and the second normal; its loss
--   of carry is a gamma of shape 2, the sum of two exponentials.
--   Columns: player, club, swing, ball, shot_number, carry and side in m and yd, strike.
CREATE OR REPLACE MACRO next_shots(player, club, shots := 100, seed := 1) AS TABLE
WITH asked AS ( -- away from all tables: a column given as an argument must not find one of ours
    SELECT
        player AS asked_player, club AS asked_club, seed AS asked_seed,
        unnest(range(1, shots + 1)) AS shot_number
),
numbered AS (
    SELECT
        d.*, a.shot_number,
        concat_ws('|', a.asked_seed, d.swing, d.ball, a.shot_number) AS key
    FROM asked AS a
    INNER JOIN fits.shot_distributions AS d
        ON d.player = a.asked_player AND d.club = a.asked_club
),
drawn AS (
    SELECT
        *,
        (hash(concat_ws('|', key, 'strike')) >> 11) / 9007199254740992.0 AS u_strike,
        (hash(concat_ws('|', key, 'radius')) >> 11) / 9007199254740992.0 AS u_radius,
        (hash(concat_ws('|', key, 'turn')) >> 11) / 9007199254740992.0 AS u_turn,
        (hash(concat_ws('|', key, 'loss')) >> 11) / 9007199254740992.0 AS u_loss,
        (hash(concat_ws('|', key, 'more')) >> 11) / 9007199254740992.0 AS u_more,
        (hash(concat_ws('|', key, 'long')) >> 11) / 9007199254740992.0 AS u_long,
        (hash(concat_ws('|', key, 'tail')) >> 11) / 9007199254740992.0 AS u_tail
    FROM numbered
),
scaled AS (
    SELECT
        *,
        u_strike < mishit_rate AS missed,
        sqrt(within_carry_sd_m ** 2 + between_carry_sd_m ** 2 + carry_se_m ** 2) AS along_m,
        sqrt(within_side_sd_m ** 2 + between_side_sd_m ** 2 + side_se_m ** 2) AS across_m,
        sqrt(degrees_of_freedom * ((1 - u_radius) ** (-2 / degrees_of_freedom) - 1)) AS radius,
        sqrt(-2 * ln(1 - u_radius)) * cos(2 * pi() * u_turn) AS normal,
        sqrt(-2 * ln(1 - u_radius)) * sin(2 * pi() * u_turn) AS other
    FROM drawn
),
placed AS (
    SELECT
        *,
        within_correlation * within_carry_sd_m * within_side_sd_m / (along_m * across_m) AS rho,
        -mishit_shortfall_m / 2 * ln((1 - u_loss) * (1 - u_more)) AS lost_m,
        normal / sqrt((-2 * ln(1 - u_tail) + other ** 2) / 3) AS t3
    FROM scaled
),
landed AS (
    SELECT
        p.player AS player, p.club AS club, swing, ball, shot_number, missed, side_known,
        greatest(0, carry_m + CASE
            WHEN NOT missed THEN along_m * radius * cos(2 * pi() * u_turn)
            WHEN u_long < mishit_long_share THEN lost_m
            ELSE -lost_m
        END) AS carry_m,
        side_m + CASE
            WHEN missed THEN mishit_side_scale_m * t3
            ELSE across_m * radius * (
                rho * cos(2 * pi() * u_turn) + sqrt(1 - rho ** 2) * sin(2 * pi() * u_turn)
            )
        END AS side_m
    FROM placed AS p
)
SELECT
    l.player AS player, l.club AS club, swing, ball, shot_number::INTEGER AS shot_number,
    carry_m, yards(carry_m) AS carry_yd,
    CASE WHEN side_known THEN side_m END AS side_m,
    CASE WHEN side_known THEN yards(side_m) END AS side_yd,
    CASE WHEN missed THEN 'mishit' ELSE 'clean' END AS strike
FROM landed AS l
ORDER BY swing, ball, shot_number;

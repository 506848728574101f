-- relation: dispersion
-- comment: Ellipses on the ground that hold given shares of the next shots, mishits included.
-- grain: player, club, swing, ball, level
-- columns:
--   level: Share of the next shots inside
--   shots: Shots that the fit used
--   sessions: Sessions that they come from
--   centre_carry_m: Centre along the target line in still air, as the player hits now [m]
--   centre_side_m: Centre across the target line as the player aims now, right positive [m]
--   half_axis_long_m: Longer half-axis [m]
--   half_axis_short_m: Shorter half-axis [m]
--   angle_deg: Longer axis from the target line, right positive [deg]
--   area_m2: Area [m2]
--   shots_held_out: Shots of later sessions, each judged by those before; NULL with one session
--   share_inside: Share of those inside the ellipse as it was before their session
--   provisional: One session only
CREATE OR REPLACE VIEW dispersion AS
SELECT
    player, club, swing, ball, level, shots, sessions,
    centre_carry_m, yards(centre_carry_m) AS centre_carry_yd,
    centre_side_m, yards(centre_side_m) AS centre_side_yd,
    half_axis_long_m, yards(half_axis_long_m) AS half_axis_long_yd,
    half_axis_short_m, yards(half_axis_short_m) AS half_axis_short_yd,
    angle_deg, area_m2, yards(yards(area_m2)) AS area_yd2,
    shots_held_out, share_inside, provisional
FROM fits.dispersion
ORDER BY player, centre_carry_m DESC, club, swing, ball, level;

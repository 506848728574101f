-- relation: shots
-- comment: Accepted shots with their still-air carry and side, each once: a shot that an export
--   loaded later gives again stands as it is there.
-- grain: a shot
-- columns:
--   still_carry_m: Carry along the target line brought to still air: no wind, 75 F (23.9 C),
--     30.00 inHg, 50 % humidity, sea level; as the player's usual monitor would have read it (view
--     monitors) [m]
--   still_side_m: Landing point across the target line brought to still air, right positive [m]
--   still_se_m: Standard error that bringing the carry to still air adds [m]
--   still_side_se_m: The same for the side [m]
--   still_basis: adjusted, typical-launch (missing launch data taken from the group), assumed-launch
--     (from an ordinary shot), flight-unknown (adjusted, though the export does not say that the
--     flight was tracked), modelled-flight (computed in calm air, left alone), as-measured
--   strike: clean or mishit; NULL where the export has no carry
--   mishit_probability: Probability that the strike was a mishit
--   excluded: Whether the user left the shot's session out of the fits
--   extras: Columns of the export without a canonical meaning, as a JSON object
--   club_speed_mps: Former name of clubhead_speed_mps, which goes with version 0.3 [m/s]
--   attack_angle_deg: Former name of angle_of_attack_deg, which goes with version 0.3 [deg]
CREATE OR REPLACE VIEW shots AS
SELECT
    s.shot_id, s.session_id, s.player, s.struck_at, s.shot_number, s.club, s.swing, s.ball,
    s.surface,
    s.ball_speed_mps, mph(s.ball_speed_mps) AS ball_speed_mph,
    s.launch_angle_deg, s.launch_direction_deg, s.spin_rate_rpm, s.spin_axis_deg,
    s.carry_m, yards(s.carry_m) AS carry_yd,
    s.carry_side_m, yards(s.carry_side_m) AS carry_side_yd,
    s.total_m, yards(s.total_m) AS total_yd,
    s.total_side_m, yards(s.total_side_m) AS total_side_yd,
    s.apex_m, yards(s.apex_m) AS apex_yd,
    s.descent_angle_deg, s.hang_time_s,
    s.clubhead_speed_mps, mph(s.clubhead_speed_mps) AS clubhead_speed_mph,
    s.angle_of_attack_deg, s.club_path_deg, s.face_angle_deg, s.dynamic_loft_deg,
    s.wind_speed_mps, mph(s.wind_speed_mps) AS wind_speed_mph, s.wind_from_deg, s.wind_height,
    s.air_temp_c, s.air_pressure_hpa, s.humidity_pct, s.altitude_m, s.monitor, s.site,
    s.flight_basis, s.source_file, s.source_row,
    f.still_carry_m, yards(f.still_carry_m) AS still_carry_yd,
    f.still_side_m, yards(f.still_side_m) AS still_side_yd,
    f.still_se_m, yards(f.still_se_m) AS still_se_yd,
    f.still_side_se_m, yards(f.still_side_se_m) AS still_side_se_yd, f.still_basis,
    f.strike, f.mishit_probability,
    coalesce(d.excluded, false) AS excluded,
    s.extras,
    s.clubhead_speed_mps AS club_speed_mps, mph(s.clubhead_speed_mps) AS club_speed_mph,
    s.angle_of_attack_deg AS attack_angle_deg
FROM ledger.counted_shots AS s
-- By player too, so that who asks for one player's shots reads only his fits.
LEFT JOIN fits.shot_fits AS f ON f.player = s.player AND f.shot_id = s.shot_id
LEFT JOIN ledger.current_decisions AS d ON d.session_id = s.session_id;

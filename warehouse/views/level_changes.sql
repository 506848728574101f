-- relation: level_changes
-- comment: Changes of a player's level of carry, all clubs asked together: noticed in the last
--   sessions, or before and after a day that the settings name.
-- grain: player, kind, since
-- columns:
--   kind: noticed, or date for a day of the settings
--   since: When the first session after the change began, or the day [UTC]
--   what: What happened on the day; NULL where noticed
--   sessions_before: Sessions before it
--   sessions_after: Sessions after it
--   change: Change of carry of all clubs, after against before [%]
--   change_low: Lower end of its 90 % interval [%]
--   change_high: Upper end of its 90 % interval [%]
--   probability: Chance of so much where nothing changed
--   changed: Whether that is beyond doubt; noticed wrongly of 5 % of players who have not changed
--   provisional: One session alone shows it, which may have been a day of its own
CREATE OR REPLACE VIEW level_changes AS
SELECT
    player, kind, since, what, sessions_before, sessions_after,
    change, change_low, change_high, probability, changed, provisional
FROM fits.level_changes
ORDER BY player, since, kind;

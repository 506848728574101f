-- relation: mph
-- comment: A speed in miles an hour, of one in m/s: an international mile is 1609.344 m.
CREATE OR REPLACE MACRO mph(metres_per_second) AS metres_per_second / 0.44704;

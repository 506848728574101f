-- relation: yards
-- comment: A length in yards, of one in metres: an international yard is 0.9144 m.
CREATE OR REPLACE MACRO yards(metres) AS metres / 0.9144;

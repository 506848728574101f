-- relation: data_dictionary
-- comment: Every column of every view with its meaning and unit.
-- grain: a column of a view
-- columns:
--   view_name: Name of the view
--   column_name: Name of the column in that view
--   data_type: Type of the column in SQL
--   meaning: What it means, with its unit
CREATE OR REPLACE VIEW data_dictionary AS
SELECT
    c.table_name AS view_name, c.column_name, c.data_type, c.comment AS meaning
FROM duckdb_columns() AS c
INNER JOIN duckdb_views() AS v
    ON v.view_name = c.table_name AND v.schema_name = c.schema_name
WHERE c.schema_name = 'main' AND NOT v.internal
ORDER BY c.table_name, c.column_index;

"""What commands print: tables, selections, drawings, pages."""

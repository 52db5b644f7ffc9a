"""Species tables: values with range, unit, source and grade."""

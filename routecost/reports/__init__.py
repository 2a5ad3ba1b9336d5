"""What people read: tables, JSON, the workbook, charts."""

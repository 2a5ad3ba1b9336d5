"""Words that the terminal, the page, the workbook and the JSON share."""

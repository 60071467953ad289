"""The workbook: page models, templates and the PDF."""

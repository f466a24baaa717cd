"""What people see: words, pictures, documents, text, report and page. Nothing here computes."""

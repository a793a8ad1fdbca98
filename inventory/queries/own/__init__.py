"""What our own measuring asks of the records: the check garment, studies, tape checks."""

"""What leaves the desk: figures, claims, reports and archives; and the controls of the notebooks."""

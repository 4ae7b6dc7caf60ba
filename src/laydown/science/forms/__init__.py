"""The test form: its patches and elements, drawn, and recognised when it comes back."""

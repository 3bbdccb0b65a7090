"""What a person sees: text, drawings, pictures and pages."""

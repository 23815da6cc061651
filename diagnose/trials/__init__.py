"""How the choice of checks does on cars drawn from the library's own figures."""

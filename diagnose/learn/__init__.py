"""Learning a workshop's own figures from its closed jobs; docs/learning.md says how and how far."""

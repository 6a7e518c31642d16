"""Papers that go out with wood: what they state, as facts to freeze, and how they are drawn."""

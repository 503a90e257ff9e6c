def pytest_configure(config):
    config.addinivalue_line(
        "markers",
        "from_memory: the value was recalled from its source, not read in it",
    )

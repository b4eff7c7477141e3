def switch_off_from_environment():
    pass

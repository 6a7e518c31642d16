"""What of ours stands between a request and its view; settings.MIDDLEWARE tells the order."""

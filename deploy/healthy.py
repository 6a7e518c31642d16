"""Whether Drystack answers on this machine; for container engines and monitors. Ends with an error where not."""

import os
import sys
import urllib.request

host = os.environ.get("DRYSTACK_HOSTS", "localhost").split(",")[0].strip()
address = f"http://127.0.0.1:{sys.argv[1] if len(sys.argv) > 1 else 8000}/probe"
asked = urllib.request.Request(address, headers={"Host": host, "X-Forwarded-Proto": "https"})
try:
    urllib.request.urlopen(asked, timeout=4).read()  # noqa: S310
except OSError as error:  # refused, too slow, or an answer that tells of an error
    sys.exit(f"{address}: {error}")

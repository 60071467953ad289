"""A child that does orders, good or bad."""

from __future__ import annotations

import json
import os
import sys
import time

from excerpts.system.child.serve import serve, tell


def do(parts: list[bytes]) -> list[bytes]:
    order = json.loads(parts[0])
    match order["do"]:
        case "die":
            os.write(2, b"the reason\n")
            os.kill(os.getpid(), 9)
        case "leave":
            os._exit(3)
        case "hang":
            time.sleep(60)
        case "spin":
            while True:
                pass
        case "tell":
            for number in (1, 2):
                tell(json.dumps(["box", number, 2]).encode())
        case "long":
            order["text"] = "x" * 3_000_000
    return [json.dumps({"pid": os.getpid(), **order}).encode()]


if __name__ == "__main__":
    serve(do, sys.argv[1:])

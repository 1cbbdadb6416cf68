"""Settings out of a command's parsed options; used by every command that touches records."""

import argparse
from pathlib import Path

from app.settings import Settings, read_settings


def settings_from(
    args: argparse.Namespace, *, data_dir: Path | None = None, is_demonstration: bool = False
) -> Settings:
    """Settings from the options of `parsing.add_data_options` or `add_server_options`.

    `data_dir` is the command's own default folder, used when `--data` is not given.
    """
    server = vars(args)
    return read_settings(
        data_dir=args.data or data_dir,
        host=server.get("host"),
        port=server.get("port"),
        plain_http_on_lan=bool(server.get("allow_plain_http_lan")),
        tls_cert=server.get("tls_cert"),
        tls_key=server.get("tls_key"),
        further_hosts=tuple(server.get("allowed_host") or ()),
        is_demonstration=is_demonstration,
    )

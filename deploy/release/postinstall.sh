#!/bin/sh
# The user that the services run as; data stays when the package goes.
set -e
getent group fairlead >/dev/null || groupadd --system fairlead
getent passwd fairlead >/dev/null || useradd --system --gid fairlead --home-dir /var/lib/fairlead --shell /usr/sbin/nologin fairlead
[ ! -d /run/systemd/system ] || systemctl daemon-reload

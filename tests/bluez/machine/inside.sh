#!/usr/bin/env bash
# Runs first inside the emulated machine: work folder, kernel version, project, Python.
work=$1 version=$2 root=$3 python=$4
export PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/tmp PYTHONDONTWRITEBYTECODE=1
ip link set lo up 2>/dev/null
mount --bind "$work/kernel/lib/modules/$version" "/lib/modules/$version"
modprobe hci_vhci && cd "$root" || echo "FAILED to load the Bluetooth of the kernel"
PYTHONPATH="$root:$work/python" "$python" tests/bluez/machine/inside.py "$work/bluez/usr/libexec/bluetooth/bluetoothd"
tail -n 5 /tmp/bluetoothd.log; dmesg | grep -i bluetooth | tail -n 15
echo o >/proc/sysrq-trigger
sleep 10

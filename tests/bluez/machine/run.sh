#!/usr/bin/env bash
# Bluetooth once more, with nothing made up but the radio: bleak, a real bluetoothd and a real kernel in an emulated machine.
# Run by hand, as root on Debian, when collector/acquire/ble* or sim/bluez changes; it says in last_run.txt when that was.
#   bash tests/bluez/machine/run.sh [PYTHON]      a Python that has the project installed, by default .venv/bin/python
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../../.." && pwd)
python=$(realpath -s "${1:-$root/.venv/bin/python}")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

needed=()
for pair in qemu-system-x86_64:qemu-system-x86 modprobe:kmod busybox:busybox-static cpio:cpio dbus-daemon:dbus xz:xz-utils; do
    command -v "${pair%%:*}" >/dev/null || needed+=("${pair##*:}")
done
if [ "${#needed[@]}" -gt 0 ]; then
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${needed[@]}"
fi
"$python" -m pip install -qq --target "$work/python" bumble==0.0.236

# Taken apart, not installed: this computer's own kernel and services stay as they are. The cloud kernel has no Bluetooth, and with
# 6.12 the made-up air never ends a first search after a link (not followed up).
kernel=$(apt-cache search --names-only '^linux-image-6\.1\.[0-9.]+-[0-9]+-amd64$' | awk '{print $1}' |
    grep -v -e cloud -e -rt- -e dbg -e unsigned | sort -V | tail -n 1)
(cd "$work" && apt-get download -qq "$kernel" bluez 2>/dev/null && dpkg -x "$kernel"_*.deb kernel && dpkg -x bluez_*.deb bluez)
version=$(ls "$work/kernel/lib/modules")
depmod -b "$work/kernel" "$version"

# The first file system: just enough to reach this computer's own, read-only, with a layer above that is forgotten.
first="$work/first"
mkdir -p "$first"/{bin,modules,host,above,proc,sys,dev}
cp "$(command -v busybox)" "$first/bin/busybox"
for module in virtio_pci 9pnet_virtio 9p overlay; do
    modprobe -d "$work/kernel" -S "$version" --show-depends "$module" | awk '$1 == "insmod" {print $2}'
done | awk '!seen[$0]++' | while read -r file; do
    cp "$file" "$first/modules/"
    name=$(basename "$file")
    case $name in *.xz) xz -d "$first/modules/$name"; name=${name%.xz} ;; esac
    echo "$name" >>"$first/modules/order"
done
cat >"$first/init" <<EOF
#!/bin/busybox sh
b=/bin/busybox
\$b mount -t proc none /proc; \$b mount -t sysfs none /sys; \$b mount -t devtmpfs none /dev
while read -r m; do \$b insmod /modules/\$m; done </modules/order
\$b mkdir -p /lower; \$b mount -t 9p -o trans=virtio,version=9p2000.L,ro,cache=loose host /lower
\$b mount -t tmpfs none /above; \$b mkdir -p /above/up /above/work
\$b mount -t overlay -o lowerdir=/lower,upperdir=/above/up,workdir=/above/work none /host
for d in proc sys dev; do \$b mount --move /\$d /host/\$d; done
\$b mkdir -p /host/lib/modules/$version
exec \$b switch_root /host /bin/bash $here/inside.sh $work $version $root $python
EOF
chmod +x "$first/init"
(cd "$first" && find . | cpio -o -H newc --quiet | gzip) >"$work/first.gz"

# No -accel kvm: a nested one may hang without a word.
timeout 400 qemu-system-x86_64 -accel tcg,thread=multi -smp 2 -m 1024 -nographic -no-reboot \
    -kernel "$work"/kernel/boot/vmlinuz-* -initrd "$work/first.gz" \
    -append "console=ttyS0 quiet panic=-1" \
    -fsdev local,id=host,path=/,security_model=none,readonly=on,multidevs=remap \
    -device virtio-9p-pci,fsdev=host,mount_tag=host | tee "$work/said" | grep -a -E '^(ok|FAILED|##)' || true

if grep -a -q '^## all went well' "$work/said"; then
    {
        echo "last run: $(date -u +%F), went well: $(grep -a -c '^ok' "$work/said") claims"
        "$python" -m pip list 2>/dev/null | grep -E '^(bleak|dbus-fast) '
        echo "bluez $(dpkg-deb -f "$work"/bluez_*.deb Version), kernel $version"
    } >"$here/last_run.txt"
    cat "$here/last_run.txt"
else
    tail -n 60 "$work/said"
    exit 1
fi

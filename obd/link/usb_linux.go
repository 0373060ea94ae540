package link

// usb is what the kernel reports: on Linux it says where an adapter is plugged in, too.
var usb = usbBus{ports: sysfs.usbPorts, name: ttyOf}

package link

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
)

// ErrOther is the kind of failure of a Reopener when its path has gone to another device.
var ErrOther = newKind("other-device", "another device is at this path now")

// Reopener opens the way to one adapter, again and again. An adapter that was pulled out
// and comes back on USB may get another path; the Reopener follows it, and does not open
// the old path when it is known to lead to another device. When it cannot tell, it keeps
// the path it was given. It is safe for use by several goroutines.
type Reopener struct {
	target string
	open   func(ctx context.Context, target string, baud int) (*Link, error)
	usb    usbBus

	mu     sync.Mutex
	path   string     // as opened last
	known  bool       // id is
	id     Identity   // the adapter's
	others []Identity // of the same kind, plugged in beside it all the time
}

// NewReopener makes a Reopener for a target as Open takes it; it opens nothing yet.
func NewReopener(target string) *Reopener {
	return &Reopener{target: target, path: target, open: Open, usb: usb}
}

// Path is where the adapter was opened last: the target, or the path it has moved to.
func (r *Reopener) Path() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.path
}

// Open opens the adapter where it is now, at a speed in baud as in the function Open.
// Errors are *OpenError, also of the kinds ErrOther and ErrCannotTell.
func (r *Reopener) Open(ctx context.Context, baud int) (*Link, error) {
	path, doubt := r.where()
	if errors.Is(doubt, ErrOther) {
		return nil, &OpenError{Target: r.target, Baud: baud, Err: doubt,
			Next: "Plug the adapter in that was used before; to use this one instead, end and begin again."}
	}
	l, err := r.open(ctx, path, baud)
	if err == nil {
		r.remember(path)
		return l, nil
	}
	var failed *OpenError
	if errors.Is(doubt, ErrCannotTell) && errors.Is(err, ErrNoPort) && errors.As(err, &failed) {
		return nil, &OpenError{Target: path, Baud: baud, Err: fmt.Errorf("%w (%w)", failed.Err, doubt),
			Next: "Plug the adapter in where it was before, or end and begin again with the path of the one to use."}
	}
	return nil, err
}

// where is the path to open, and why it may be the wrong one.
func (r *Reopener) where() (path string, doubt error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if !r.known {
		return r.target, nil
	}
	ports, err := r.usb.ports()
	if err != nil {
		return r.target, nil
	}
	// One that has left may come back as any: only those that stayed are surely not ours.
	r.others = slices.DeleteFunc(r.others, func(id Identity) bool { return !present(id, ports) })
	here, taken := named(ports, r.usb.name(r.target))
	ours := slices.DeleteFunc(slices.Clone(ports), func(p usbPort) bool { return slices.Contains(r.others, p.id) })
	found, err := find(r.id, ours)
	switch {
	case err == nil && found.name == here.name:
		return r.target, nil
	case err == nil:
		return found.path, nil
	case taken && (r.id.compare(here.id) == another || slices.Contains(r.others, here.id)):
		return r.target, fmt.Errorf("%w (%s)", ErrOther, here.id)
	}
	return r.target, err
}

// remember reads which adapter was opened, and which others like it are there.
func (r *Reopener) remember(path string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.path = path
	ports, err := r.usb.ports()
	if err != nil {
		return // what was known stays
	}
	p, ok := named(ports, r.usb.name(path))
	if !ok {
		return
	}
	r.known, r.id = true, p.id
	r.id.Shared = shared(p, ports)
	r.others = nil
	for _, q := range ports {
		if q.name != p.name && q.id.kind() == p.id.kind() && q.id.Location != "" {
			r.others = append(r.others, q.id)
		}
	}
}

// present reports whether that identity is among the ports.
func present(id Identity, ports []usbPort) bool {
	return slices.ContainsFunc(ports, func(p usbPort) bool { return p.id == id })
}

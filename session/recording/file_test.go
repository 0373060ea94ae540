package recording

import (
	"sync"
	"syscall"
)

// memFile is a disk of limited room in memory, which counts what is done to it.
type memFile struct {
	mu        sync.Mutex
	data      []byte
	room      int   // bytes that fit; 0 for no limit
	cause     error // error when they do not fit; nil for ENOSPC
	noCut     bool  // Truncate fails
	syncErr   error
	syncs     int
	synced    int // bytes that survived the last sync
	writes    int
	closed    bool
	onceOnly  bool // the fault goes away after the first failed write
	triggered bool
}

func (f *memFile) Write(p []byte) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.writes++
	if f.room == 0 || len(f.data)+len(p) <= f.room || f.onceOnly && f.triggered {
		f.data = append(f.data, p...)
		return len(p), nil
	}
	f.triggered = true
	n := max(f.room-len(f.data), 0)
	f.data = append(f.data, p[:n]...)
	if f.cause != nil {
		return n, f.cause
	}
	return n, syscall.ENOSPC
}

func (f *memFile) Sync() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.syncs++
	f.synced = len(f.data)
	return f.syncErr
}

func (f *memFile) Truncate(size int64) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.noCut {
		return syscall.EIO
	}
	f.data = f.data[:size]
	return nil
}

func (f *memFile) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.closed = true
	return nil
}

func (f *memFile) bytes() []byte {
	f.mu.Lock()
	defer f.mu.Unlock()
	return append([]byte(nil), f.data...)
}

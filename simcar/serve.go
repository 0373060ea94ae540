package simcar

import (
	"context"
	"errors"
	"io"
	"time"
)

// ErrDropped is returned by Serve when a LineDrop fault closed the connection.
var ErrDropped = errors.New("simcar: line dropped by a fault; connect again")

// Serve speaks with the host on conn until either side closes it, ctx ends or a LineDrop
// fault strikes; it closes conn. One connection is served at a time, others wait. The
// error is nil when the host closed, ctx's own when ctx ended, ErrDropped, or that of
// writing to conn.
func (s *Sim) Serve(ctx context.Context, conn io.ReadWriteCloser) error {
	select {
	case <-s.serving:
	case <-ctx.Done():
		return errors.Join(ctx.Err(), conn.Close())
	}
	defer func() { s.serving <- struct{}{} }()
	s.begin()

	ctx, cancel := context.WithCancel(ctx)
	closed := make(chan struct{})
	go func() { // the only way to end a Read or Write that blocks
		<-ctx.Done()
		_ = conn.Close() // the far end may have been first
		close(closed)
	}()
	in := make(chan []byte, 64)
	go pump(ctx.Done(), conn, in)

	d := &dialogue{wire: wire{sim: s, chip: s.chip, conn: conn, done: ctx.Done(), in: in, timer: time.NewTimer(time.Hour)}}
	defer d.timer.Stop()
	err := d.run()
	parent := ctx.Err()
	cancel()
	<-closed
	switch {
	case parent != nil:
		return parent
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrClosedPipe):
		return nil
	default:
		return err
	}
}

// begin starts drive time once.
func (s *Sim) begin() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.started {
		s.started, s.start = true, time.Now()
	}
}

// pump moves what the host sends into the channel, so that the dialogue can notice a
// byte while it waits for something else.
func pump(done <-chan struct{}, conn io.Reader, in chan<- []byte) {
	defer close(in)
	buf := make([]byte, 512)
	for {
		n, err := conn.Read(buf)
		if n > 0 {
			select {
			case in <- append([]byte(nil), buf[:n]...):
			case <-done:
				return
			}
		}
		if err != nil {
			return
		}
	}
}

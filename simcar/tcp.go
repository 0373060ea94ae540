package simcar

import (
	"context"
	"errors"
	"fmt"
	"net"
)

// ListenTCP listens on addr ("127.0.0.1:35000"; port 0 for any) and serves one
// connection after another until ctx ends; a second one at the same time is kept
// waiting. It returns the address, and a channel that gives the reason when it ends: nil
// after ctx ended.
func (s *Sim) ListenTCP(ctx context.Context, addr string) (net.Addr, <-chan error, error) {
	var config net.ListenConfig
	l, err := config.Listen(ctx, "tcp", addr)
	if err != nil {
		return nil, nil, fmt.Errorf("simcar: listen on %s: %w", addr, err)
	}
	ended := make(chan error, 1)
	stop := context.AfterFunc(ctx, func() { _ = l.Close() })
	go func() {
		defer stop()
		ended <- s.accept(ctx, l)
	}()
	return l.Addr(), ended, nil
}

// accept serves connections; while a LineDrop keeps the adapter away they are closed at
// once.
func (s *Sim) accept(ctx context.Context, l net.Listener) error {
	for {
		conn, err := l.Accept()
		if ctx.Err() != nil {
			if err == nil {
				_ = conn.Close()
			}
			return nil
		}
		if err != nil {
			return errors.Join(fmt.Errorf("simcar: accept: %w", err), l.Close())
		}
		s.mu.Lock()
		away := s.now() < s.away
		s.mu.Unlock()
		if away {
			_ = conn.Close()
			continue
		}
		_ = s.Serve(ctx, conn) // how one connection ended does not matter to the next
	}
}

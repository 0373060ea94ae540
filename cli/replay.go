package cli

import (
	"context"
	"sync"

	"judder/session"
	"judder/tui"
)

type replayCommand struct {
	File  string  `arg:"" name:"FILE" help:"A recording."`
	Speed float64 `default:"1" placeholder:"N" help:"1 is real time, 10 ten times faster, 0 as fast as it can."`
	Bell  bool    `default:"true" negatable:"" help:"Ring the terminal bell at a new event."`
	FPS   int     `default:"15" help:"Frames a second of the screen."`
}

func (c *replayCommand) Run(e *env) error {
	if c.Speed < 0 {
		return usageError("--speed takes 0 or more")
	}
	f := sessionFlags{Bell: c.Bell, FPS: c.FPS}
	if err := f.check(); err != nil {
		return err
	}
	r, err := session.OpenReplay(c.File, c.Speed)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(e.ctx)
	defer cancel()
	var player sync.WaitGroup
	player.Go(func() { _ = r.Run(ctx) }) // it ends with the context and has no errors of its own
	options := f.options(e)
	options.Replay = true
	err = tui.Run(ctx, r, options)
	cancel()
	player.Wait()
	return err
}

"""The torque-limit table of an assessed engine.

Here a table is proposed, judged anew with fresh draws and traded off, over speed alone or a second
axis. In comes an assessment and an ask; out comes a `Proposal`, its rows and its proof."""

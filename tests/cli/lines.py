"""The lines that the tests type: one a kind of entry, and every command that reads."""

from __future__ import annotations

# The common case of every entry, as short as it gets.
ADDING = (
    'recondition book create --currency USD --person MR --name "Mara Ridd"',
    'recondition book set "shop name" "Ridd & Kess"',
    'recondition person add OW "Otto Wend" owner',
    "recondition person rate MR 2021-01-01 41.00 --charge-out-rate 98.00",
    'recondition supplier add S-001 "Halm Decals"',
    'recondition product add M-001 "Fine cut 4" "fine polish" ml',
    'recondition vehicle add 0007 "1967 Dunmarch Warden estate"',
    'recondition vehicle add 0008 "1971 Orlanda Brisa coupe" --whose-it-is consigned --owner OW',
    "recondition panel add 0007 bonnet --made-of steel",
    'recondition finding add 0007 bonnet "wash swirls" --severity 2',
    'recondition finding add 0007 "left front wing" "torn side stripe" --severity 3',
    'recondition finding add 0008 roof "dull paint" --severity 2',
    'recondition document add 0007 invoice.txt invoice "one side stripe"',
    "recondition terms set 0007 hammer 20000/25000/30000 41",
    "recondition terms set 0008 all-in 9000/10000/11500 41 --charge-out-rate 98",
    'recondition candidate add 0007 "one-step polish" --hours 5/8/12 --uplift 900/1800/3000',
    'recondition candidate add 0007 "new stripe" --hours 1/2/4 --cash 90/120/150 --uplift 0/50/90',
    'recondition candidate add 0008 "roof polish" --hours 1/2/3 --uplift 400/500/700',
    'recondition candidate together 0007 "C-001; C-002" 400',
    'recondition post labour 0007 2.5 "one-step polish, bonnet" --findings F-001',
    'recondition post part 0007 "side stripe" 120 reproduction "stripe fitted" --findings F-002',
    'recondition stock receive M-001 "500 ml" 18.50',
    'recondition post consumable 0007 M-001 "35 ml" polishing --findings F-001',
    'recondition post sublet 0007 240 "seat stitched" --no-finding-because "whole vehicle"',
    'recondition post charge 0007 310 "carriage from the port" --no-finding-because transport',
    'recondition post labour 0008 1.5 "roof washed" --findings F-003',
    'recondition post reversal L-002 "entered on the wrong car"',
    'recondition finding end 0007 F-001 "partly resolved" --severity-after 1',
)

# Every command that reads a book; {car} is a stock number.
READING = (
    "recondition vehicle list",
    "recondition vehicle show {car}",
    "recondition panel list {car}",
    "recondition finding list {car}",
    "recondition document list {car}",
    "recondition candidate list {car}",
    "recondition terms list {car}",
    "recondition post list {car}",
    "recondition person list",
    "recondition supplier list",
    "recondition product list",
    "recondition plan {car} --on 2031-03-03",
    "recondition report cost-and-uplift {car}",
    "recondition report worth-doing {car} --on 2031-03-03",
    "recondition check",
)

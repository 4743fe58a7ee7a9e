"""Peak flexion and the instant of full extension over both swing settings, for two people: a sweep drawn with Matplotlib.

    python bindings/python/examples/settings_map.py map.png
"""

import sys

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np

import kneedamp

# %% A sweep: 41 x 41 positions of both swing settings for two masses, in batches
outcomes = ["peak_flexion_deg", "extension_margin_ms"]
columns = kneedamp.sweep(
    {"mass_kg": [60, 95], "swing-flexion": "0:100:2.5", "swing-extension": "0:100:2.5"},
    scenario="walk-fast",
    outcomes=outcomes,
    batch=True,
)

# %% One column per mass, one row per outcome; rows come in the order of the inputs, the last one fastest
masses = np.unique(columns["mass_kg"])
axis = np.unique(columns["swing-flexion_pct"])
shape = (len(masses), len(axis), len(axis))
levels = {"peak_flexion_deg": 8, "extension_margin_ms": [0, 40, 80, 120, 160, 200]}
labels = {"peak_flexion_deg": "peak flexion (°)", "extension_margin_ms": "straight before heel contact (ms)"}
figure, panels = plt.subplots(len(outcomes), len(masses), figsize=(9, 7.5), sharex=True, sharey=True, layout="constrained")
for row, outcome in zip(panels, outcomes):
    values = columns[outcome].reshape(shape)
    for panel, mass, of_mass in zip(row, masses, values):
        lines = panel.contour(axis, axis, of_mass, levels=levels[outcome], cmap="viridis")
        panel.clabel(lines, fontsize=9)
        # where the knee is never straight there is no number
        panel.contourf(axis, axis, np.isnan(of_mass), levels=[0.5, 1.5], colors=["0.85"])
        panel.set_title(f"{mass:.0f} kg: {labels[outcome]}", fontsize=10)
for panel in panels[-1]:
    panel.set_xlabel("swing-extension (% of the model's range)")
for panel in panels[:, 0]:
    panel.set_ylabel("swing-flexion (%)")
figure.suptitle("Fast walking; grey: the knee is never straight. " + "Teaching and engineering model, not a medical device", fontsize=9)

# %% The picture
figure.savefig(sys.argv[1] if len(sys.argv) > 1 else "settings_map.png", dpi=120)

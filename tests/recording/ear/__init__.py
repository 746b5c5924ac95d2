"""How the ear is trained and judged: scores of chance, their sound, the net, its training, its trial.

python -m tests.recording.ear.bank BANK.npz               notes of FluidR3 (MIT) for training; needs fluidsynth
torchrun --nproc_per_node=1 -m tests.recording.ear.train BANK.npz FOLDER --seconds 1500      a GPU with torch
python -m tests.bench ear                                 figures on engines that the training never heard
"""

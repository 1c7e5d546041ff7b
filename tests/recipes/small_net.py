"""The nets that the trainer runs in plain numpy (trainer/vision/convolve.py), as torch teaches them."""

import numpy as np
import torch
from torch import nn
from torch.nn import functional


class SmallNet(nn.Module):
    """Convolutions of 3 x 3, stride 2, and two dense layers: an answer and the logarithm of its mean error."""

    def __init__(self, shape, widths, hidden, dropped):
        """shape: (channels, height, width) of what it sees; widths: channels of each convolution."""
        super().__init__()
        (before, h, w), layers = shape, []
        for n in widths:
            layers += [nn.Conv2d(before, n, 3, 2, 1), nn.ReLU()]
            before, h, w = n, (h + 1) // 2, (w + 1) // 2
        self.seen, self.shape, self.dropped = nn.Sequential(*layers), (before, h, w), dropped
        self.hidden, self.out = nn.Linear(before * h * w, hidden), nn.Linear(hidden, 2)
        nn.init.normal_(self.out.weight, 0, 0.02)
        self.out.bias.data = torch.tensor([0.0, -1.0])

    def forward(self, x):
        x = functional.dropout(self.seen(x).flatten(1), self.dropped, self.training)
        return self.out(functional.relu(self.hidden(x)))

    def arrays(self):
        """As the trainer reads them: channels last, half precision."""
        found = {}
        for k, layer in enumerate(m for m in self.seen if isinstance(m, nn.Conv2d)):
            found |= {f"w{k}": layer.weight.permute(2, 3, 1, 0), f"b{k}": layer.bias}
        hidden = self.hidden.out_features
        flat = self.hidden.weight.reshape(hidden, *self.shape).permute(2, 3, 1, 0).reshape(-1, hidden)
        found |= {"w_hidden": flat, "b_hidden": self.hidden.bias, "w_out": self.out.weight.T, "b_out": self.out.bias}
        return {k: v.detach().numpy().astype(np.float16) for k, v in found.items()}
